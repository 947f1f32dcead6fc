import type { Lens } from './lens.js';

/** Most radial terms of a lens that {@link project} takes. */
export const MAX_RADIAL_TERMS = 3;
/** Where {@link project} puts its results, in an array of `length`. */
export const PROJECTION = {
  x: 0,
  y: 1,
  /** ∂x/∂camera direction, three numbers. */
  xByDirection: 2,
  yByDirection: 5,
  xByFocal: 8,
  yByFocal: 9,
  /** ∂x/∂k1, ∂y/∂k1, ∂x/∂k2, ∂y/∂k2, … */
  byRadial: 10,
  length: 10 + 2 * MAX_RADIAL_TERMS,
} as const;

/**
 * Projects a camera direction (any length, z > 0) to pixels together with the derivatives a fit needs.
 * Writes into `out` (length PROJECTION.length) so that loops over many stars allocate nothing.
 * Returns false, `out` untouched, for a direction behind the camera.
 */
export function project(lens: Lens, cx: number, cy: number, cz: number, out: Float64Array): boolean {
  if (cz <= 0) return false;
  const f = lens.focalPixels;
  const m = lens.mirrored ? -1 : 1;
  const u = cx / cz;
  const v = cy / cz;
  const s = u * u + v * v;
  let factor = 1;
  let slope = 0; // ∂factor/∂s
  let power = 1;
  for (let k = 0; k < lens.radial.length; k++) {
    const coefficient = lens.radial[k]!;
    slope += (k + 1) * coefficient * power;
    power *= s;
    factor += coefficient * power;
  }
  out[PROJECTION.x] = lens.centreX + m * f * u * factor;
  out[PROJECTION.y] = lens.centreY + f * v * factor;
  // ∂x/∂u etc. in focal lengths, then the chain rule through u = cx/cz, v = cy/cz.
  const xu = factor + 2 * u * u * slope;
  const cross = 2 * u * v * slope;
  const yv = factor + 2 * v * v * slope;
  const g = f / cz;
  out[2] = m * g * xu;
  out[3] = m * g * cross;
  out[4] = -m * g * (xu * u + cross * v);
  out[5] = g * cross;
  out[6] = g * yv;
  out[7] = -g * (cross * u + yv * v);
  out[8] = m * u * factor;
  out[9] = v * factor;
  power = 1;
  for (let k = 0; k < MAX_RADIAL_TERMS; k++) {
    power *= s;
    out[10 + 2 * k] = m * f * u * power;
    out[11 + 2 * k] = f * v * power;
  }
  return true;
}
