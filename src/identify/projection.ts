import type { Lens } from './lens.js';

/** The most radial terms of a lens that {@link project} accepts. */
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
  /** ∂x/∂p1, ∂y/∂p1, ∂x/∂p2, ∂y/∂p2 of the tangential terms. */
  byTangential: 10 + 2 * MAX_RADIAL_TERMS,
  length: 14 + 2 * MAX_RADIAL_TERMS,
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
  const p1 = lens.tangential ? lens.tangential[0] : 0, p2 = lens.tangential ? lens.tangential[1] : 0;
  const uu = u * u, uv2 = 2 * u * v, vv = v * v;
  const x = u * factor + p1 * (s + 2 * uu) + p2 * uv2;
  const y = v * factor + p1 * uv2 + p2 * (s + 2 * vv);
  out[PROJECTION.x] = lens.centreX + m * f * x;
  out[PROJECTION.y] = lens.centreY + f * y;
  // ∂x/∂u etc. in focal lengths, then the chain rule through u = cx/cz, v = cy/cz.
  const xu = factor + 2 * uu * slope + 6 * p1 * u + 2 * p2 * v;
  const cross = uv2 * slope + 2 * (p1 * v + p2 * u);
  const yv = factor + 2 * vv * slope + 2 * p1 * u + 6 * p2 * v;
  const g = f / cz;
  out[2] = m * g * xu;
  out[3] = m * g * cross;
  out[4] = -m * g * (xu * u + cross * v);
  out[5] = g * cross;
  out[6] = g * yv;
  out[7] = -g * (cross * u + yv * v);
  out[8] = m * x;
  out[9] = y;
  power = 1;
  for (let k = 0; k < MAX_RADIAL_TERMS; k++) {
    power *= s;
    out[10 + 2 * k] = m * f * u * power;
    out[11 + 2 * k] = f * v * power;
  }
  const t = PROJECTION.byTangential;
  out[t] = m * f * (s + 2 * uu);
  out[t + 1] = f * uv2;
  out[t + 2] = m * f * uv2;
  out[t + 3] = f * (s + 2 * vv);
  return true;
}
