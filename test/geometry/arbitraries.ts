import fc from 'fast-check';
import type { Rotation } from '../../src/geometry/rotation.js';
import { rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, norm, unit } from '../../src/geometry/vector.js';

const coordinate = fc.double({ min: -10, max: 10, noNaN: true });

export const vector: fc.Arbitrary<Vector> = fc.tuple(coordinate, coordinate, coordinate);

/** Length 1. */
export const direction: fc.Arbitrary<Vector> = vector.filter((v) => norm(v) > 1e-3).map(unit);

export const rotation: fc.Arbitrary<Rotation> = fc.tuple(direction, fc.double({ min: -Math.PI, max: Math.PI, noNaN: true }))
  .map(([axis, angle]) => rotationAbout(axis, angle));

/** Largest difference of two lists of numbers. */
export function farthest(a: readonly number[], b: readonly number[]): number {
  return Math.max(...a.map((x, i) => Math.abs(x - b[i]!)));
}
