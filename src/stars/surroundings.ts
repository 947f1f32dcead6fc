import type { Picture } from './picture.js';
import { quantile } from './quantile.js';

/** Sky level and spread of the pixels in a ring, from its median and lower half. */
export interface Surroundings {
  readonly level: number;
  readonly noise: number;
  readonly pixels: number;
}

/** The most pixels looked at in one ring. */
const enough = 200;

/** Memory for the pixels of a ring, which every call overwrites. */
export function makeRing(): Float64Array {
  return new Float64Array(4 * enough);
}

/**
 * The ring between two radii around a place: it shows whether a star is on open sky, or is a bump on a bright star's halo, a lit roof or
 * the edge of a tree, where the mesh's level or noise is wrong.
 */
export function surroundings(
  image: Picture, x: number, y: number, inner: number, outer: number, values: Float64Array,
): Surroundings {
  const { width, height, data } = image;
  // At the frame's edge only pixels with a counterpart on the other side: otherwise a slope would shift the level.
  const reachX = Math.min(outer, x, width - 1 - x);
  const reachY = Math.min(outer, y, height - 1 - y);
  const left = Math.ceil(x - reachX);
  const right = Math.floor(x + reachX);
  const top = Math.ceil(y - reachY);
  const bottom = Math.floor(y + reachY);
  const area = Math.PI * (outer * outer - inner * inner);
  const step = Math.max(1, Math.round(Math.sqrt(area / enough)));
  if (image.quick) return image.quick.ring(x, y, inner, outer, left, right, top, bottom, step, values.length);
  let n = 0;
  for (let v = top; v <= bottom; v += step) {
    const dy = v - y;
    for (let u = left; u <= right; u += step) {
      const r2 = (u - x) * (u - x) + dy * dy;
      if (r2 < inner * inner || r2 > outer * outer || n === values.length) continue;
      const value = data[v * width + u]!;
      if (value - value === 0) values[n++] = value;
    }
  }
  if (n < 12) return { level: NaN, noise: NaN, pixels: n };
  const level = quantile(values, n, 0.5);
  return { level, noise: level - quantile(values, n, 0.15866), pixels: n };
}
