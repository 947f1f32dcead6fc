import type { AxisError } from '../../axis/axisError.js';
import type { AxisResult } from '../../axis/axisResult.js';

/** The error that counts: from the pole that is aimed at. */
export function aimedError(measurement: AxisResult): AxisError {
  return measurement.aim === 'true' ? measurement.fromTruePole : measurement.fromRefractedPole;
}

/** "east, right as you face the pole": facing north east is at the right hand, facing south at the left. */
export function sideAtMount(move: 'east' | 'west', hemisphere: 1 | -1): string {
  const right = (move === 'east') === (hemisphere === 1);
  return `${move}, ${right ? 'right' : 'left'} as you face the pole`;
}
