/** Radians in one degree. */
export const DEGREE = Math.PI / 180;
/** Radians in one arcminute. */
export const ARCMINUTE = DEGREE / 60;
/** Radians in one arcsecond. */
export const ARCSECOND = DEGREE / 3600;

/** Arc cosine in radians of a value that rounding may have carried past ±1. */
export function acos(value: number): number {
  return value >= 1 ? 0 : value <= -1 ? Math.PI : Math.acos(value);
}

/** Arc sine in radians of a value that rounding may have carried past ±1. */
export function asin(value: number): number {
  return value >= 1 ? Math.PI / 2 : value <= -1 ? -Math.PI / 2 : Math.asin(value);
}

/** The same angle (radians) in -π < angle <= π. */
export function wrapSigned(angle: number): number {
  const turn = 2 * Math.PI;
  const wrapped = angle - turn * Math.floor(angle / turn);
  return wrapped > Math.PI ? wrapped - turn : wrapped;
}

/** The same angle (radians) in 0 <= angle < 2π. */
export function wrapPositive(angle: number): number {
  const turn = 2 * Math.PI;
  const wrapped = angle - turn * Math.floor(angle / turn);
  return wrapped >= turn || wrapped < 0 ? 0 : wrapped;
}
