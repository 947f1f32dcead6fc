import type { Random } from '../../src/simulate/random.js';
import type { SimulatedField } from './simulatedField.js';

/** x of one star with y of another: as dense as the sky, but no part of it. */
export function shuffled(field: SimulatedField, random: Random): { x: number; y: number }[] {
  const ys = field.detections.map((d) => d.y);
  for (let n = ys.length - 1; n > 0; n--) {
    const m = Math.floor((n + 1) * random.uniform());
    [ys[n], ys[m]] = [ys[m]!, ys[n]!];
  }
  return field.detections.map((d, n) => ({ x: d.x, y: ys[n]! }));
}
