import { type Vector, cross, dot, norm, scale, unit } from './vector.js';

/** A rotation matrix, row by row: `apply(r, v)` is r·v. */
export type Rotation = readonly [
  number, number, number,
  number, number, number,
  number, number, number,
];

export const IDENTITY: Rotation = [1, 0, 0, 0, 1, 0, 0, 0, 1];

/** r·v */
export function apply(r: Rotation, v: Vector): Vector {
  return [
    r[0] * v[0] + r[1] * v[1] + r[2] * v[2],
    r[3] * v[0] + r[4] * v[1] + r[5] * v[2],
    r[6] * v[0] + r[7] * v[1] + r[8] * v[2],
  ];
}

/** a·b: first b, then a. */
export function compose(a: Rotation, b: Rotation): Rotation {
  return [
    a[0] * b[0] + a[1] * b[3] + a[2] * b[6], a[0] * b[1] + a[1] * b[4] + a[2] * b[7], a[0] * b[2] + a[1] * b[5] + a[2] * b[8],
    a[3] * b[0] + a[4] * b[3] + a[5] * b[6], a[3] * b[1] + a[4] * b[4] + a[5] * b[7], a[3] * b[2] + a[4] * b[5] + a[5] * b[8],
    a[6] * b[0] + a[7] * b[3] + a[8] * b[6], a[6] * b[1] + a[7] * b[4] + a[8] * b[7], a[6] * b[2] + a[7] * b[5] + a[8] * b[8],
  ];
}

/** The rotation back. */
export function inverse(r: Rotation): Rotation {
  return [r[0], r[3], r[6], r[1], r[4], r[7], r[2], r[5], r[8]];
}

/** Right-handed rotation by `angle` (radians) about a direction of length 1 (Rodrigues' formula). */
export function rotationAbout(axis: Vector, angle: number): Rotation {
  const [x, y, z] = axis;
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const t = 1 - c;
  return [
    t * x * x + c, t * x * y - s * z, t * x * z + s * y,
    t * x * y + s * z, t * y * y + c, t * y * z - s * x,
    t * x * z - s * y, t * y * z + s * x, t * z * z + c,
  ];
}

/** Rotation by the rotation vector `w` (direction = axis, length = angle in radians). */
export function fromRotationVector(w: Vector): Rotation {
  const angle = norm(w);
  // The inverse of a shorter one is infinite.
  return angle > 1e-300 ? rotationAbout(scale(w, 1 / angle), angle) : IDENTITY;
}

/**
 * Axis (length 1) and angle (radians, 0 to π) of a rotation. The angle is exact to rounding over the whole range;
 * the axis of a rotation by less than about 1e-15 is arbitrary.
 */
export function axisAndAngle(r: Rotation): { axis: Vector; angle: number } {
  // The antisymmetric part is sin(angle)·axis; the trace gives the cosine.
  const w: Vector = [(r[7] - r[5]) / 2, (r[2] - r[6]) / 2, (r[3] - r[1]) / 2];
  const sine = norm(w);
  const cosine = (r[0] + r[4] + r[8] - 1) / 2;
  const angle = Math.atan2(sine, cosine);
  if (cosine > 0) return { axis: sine > 0 ? unit(w) : [0, 0, 1], angle };
  // Beyond a quarter turn the antisymmetric part becomes small; the symmetric one has axis·axisᵀ.
  const t = 1 - cosine;
  const xx = (r[0] - cosine) / t;
  const yy = (r[4] - cosine) / t;
  const zz = (r[8] - cosine) / t;
  const xy = (r[1] + r[3]) / (2 * t);
  const xz = (r[2] + r[6]) / (2 * t);
  const yz = (r[5] + r[7]) / (2 * t);
  const column: Vector = xx >= yy && xx >= zz ? [xx, xy, xz] : yy >= zz ? [xy, yy, yz] : [xz, yz, zz];
  const axis = unit(column);
  return { axis: dot(axis, w) < 0 ? scale(axis, -1) : axis, angle };
}

/** The nearest rotation to a matrix with errors from rounding or averaging (Gram-Schmidt on the rows, first row kept). */
export function orthonormalize(r: Rotation): Rotation {
  const a = unit([r[0], r[1], r[2]]);
  const b0: Vector = [r[3], r[4], r[5]];
  const p = dot(a, b0);
  const b = unit([b0[0] - p * a[0], b0[1] - p * a[1], b0[2] - p * a[2]]);
  const c = cross(a, b);
  return [a[0], a[1], a[2], b[0], b[1], b[2], c[0], c[1], c[2]];
}
