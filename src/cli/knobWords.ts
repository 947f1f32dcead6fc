import { ARCMINUTE } from '../geometry/angle.js';
import type { AxisError } from '../axis/axisError.js';
import type { AxisResult } from '../axis/axisResult.js';

/** What one knob must do: the JSON contract's `knobs`. Turns and direction wait for a rig that says what a turn does. */
export type KnobTurn = {
  readonly knob: 'azimuth' | 'altitude';
  readonly move: 'east' | 'west' | 'raise' | 'lower';
  readonly arcmin: number;
  readonly turns: number | null;
  readonly direction: 'clockwise' | 'counter-clockwise' | null;
};

/** The error that counts: from the pole that is aimed at. */
export function aimedError(measurement: AxisResult): AxisError {
  return measurement.aim === 'true' ? measurement.fromTruePole : measurement.fromRefractedPole;
}

/** Azimuth first, altitude last. */
export function turnsNeeded(measurement: AxisResult): KnobTurn[] {
  const { azimuth, altitude } = aimedError(measurement);
  const size = (angle: number): number => Math.round((Math.abs(angle) / ARCMINUTE) * 1000) / 1000;
  return [
    { knob: 'azimuth', move: azimuth > 0 ? 'west' : 'east', arcmin: size(azimuth), turns: null, direction: null },
    { knob: 'altitude', move: altitude > 0 ? 'lower' : 'raise', arcmin: size(altitude), turns: null, direction: null },
  ];
}

/** "east, right as you face the pole": facing north east is at the right hand, facing south at the left. */
export function sideAtMount(move: 'east' | 'west', hemisphere: 1 | -1): string {
  const right = (move === 'east') === (hemisphere === 1);
  return `${move}, ${right ? 'right' : 'left'} as you face the pole`;
}
