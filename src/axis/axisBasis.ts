import { type Vector, cross, dot, scale, subtract, unit } from '../geometry/vector.js';

/** Two directions at right angles to a third and to each other, all of length 1. */
export type Basis = readonly [Vector, Vector];

/** Up, and right as a person faces along a local direction: right is east for an axis in the north. */
export function axisBasis(axis: Vector): [Vector, Vector] {
  const vertical: Vector = Math.abs(axis[2]) < 1 - 1e-9 ? [0, 0, 1] : [0, -1, 0];
  const up = unit(subtract(vertical, scale(axis, dot(axis, vertical))));
  return [up, cross(axis, up)];
}

/** Two directions at right angles to a camera direction. */
export function anyBasis(v: Vector): Basis {
  const first = unit(cross(v, Math.abs(v[0]) < 0.8 ? [1, 0, 0] : [0, 1, 0]));
  return [first, cross(v, first)];
}
