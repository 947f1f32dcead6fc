import { wrapPositive, wrapSigned } from '../geometry/angle.js';
import { type Vector, angleBetween, fromSpherical } from '../geometry/vector.js';

/** Altitude above the horizon and azimuth from north through east (0 to 2π), radians, of a local direction. */
export function horizontal(direction: Vector): { altitude: number; azimuth: number } {
  return {
    altitude: Math.atan2(direction[2], Math.hypot(direction[0], direction[1])),
    azimuth: wrapPositive(Math.atan2(direction[0], direction[1])),
  };
}

/** Local direction (x east, y north, z up) of an altitude and azimuth, radians; the inverse of {@link horizontal}. */
export function fromHorizontal(altitude: number, azimuth: number): Vector {
  return fromSpherical(Math.PI / 2 - azimuth, altitude);
}

/** How far an axis is from a pole, radians. */
export interface AxisError {
  /** Axis altitude minus pole altitude: + = too high. */
  readonly altitude: number;
  /** Turn about the vertical from the pole's azimuth to the axis': + = too far east, in either hemisphere. */
  readonly azimuth: number;
  /** Great-circle angle. */
  readonly separation: number;
}

/** The error of an axis (its end toward the elevated pole) against a pole, both local directions of length 1. */
export function axisError(axis: Vector, pole: Vector): AxisError {
  const a = horizontal(axis);
  const p = horizontal(pole);
  // Seen from above azimuth runs clockwise; with the pole in the south, east is the direction of decreasing azimuth.
  const eastward = pole[1] >= 0 ? 1 : -1;
  return {
    altitude: a.altitude - p.altitude,
    azimuth: eastward * wrapSigned(a.azimuth - p.azimuth),
    separation: angleBetween(axis, pole),
  };
}

/** The axis that has the given altitude and azimuth error against a pole; the inverse of {@link axisError}. */
export function axisWithError(pole: Vector, altitude: number, azimuth: number): Vector {
  const p = horizontal(pole);
  return fromHorizontal(p.altitude + altitude, p.azimuth + (pole[1] >= 0 ? azimuth : -azimuth));
}
