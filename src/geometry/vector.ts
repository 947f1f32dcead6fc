/** A vector in three dimensions, dimensionless; directions have length 1. */
export type Vector = readonly [x: number, y: number, z: number];

export function dot(a: Vector, b: Vector): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

export function cross(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

export function add(a: Vector, b: Vector): Vector {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

export function subtract(a: Vector, b: Vector): Vector {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

export function scale(a: Vector, factor: number): Vector {
  return [a[0] * factor, a[1] * factor, a[2] * factor];
}

export function norm(a: Vector): number {
  return Math.hypot(a[0], a[1], a[2]);
}

/** The direction of `a`, length 1. The zero vector has none and stays zero. */
export function unit(a: Vector): Vector {
  const length = norm(a);
  return length > 0 ? scale(a, 1 / length) : a;
}

/** Angle between two directions in radians, 0 to π; exact to rounding at both ends, where the arc cosine is not. */
export function angleBetween(a: Vector, b: Vector): number {
  return Math.atan2(norm(cross(a, b)), dot(a, b));
}

/** Direction from longitude (counter-clockwise from x toward y) and latitude (toward z), radians. */
export function fromSpherical(longitude: number, latitude: number): Vector {
  const c = Math.cos(latitude);
  return [c * Math.cos(longitude), c * Math.sin(longitude), Math.sin(latitude)];
}

/** Inverse of {@link fromSpherical}; longitude in -π to π. */
export function toSpherical(a: Vector): { longitude: number; latitude: number } {
  return { longitude: Math.atan2(a[1], a[0]), latitude: Math.atan2(a[2], Math.hypot(a[0], a[1])) };
}
