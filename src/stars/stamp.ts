import type { Slope } from './background.js';
import type { Picture } from './picture.js';

/** Pixels around a star, copied once, so that the fit's rounds read flat numbers whatever the picture's type. */
export interface Stamp {
  /** Pixel of the first value. */
  left: number;
  top: number;
  columns: number;
  rows: number;
  /** Light above the mesh's sky, [v * columns + u]; NaN is not used. */
  values: Float64Array;
}

export function makeStamp(): Stamp {
  return { left: 0, top: 0, columns: 0, rows: 0, values: new Float64Array(0) };
}

/**
 * Cuts a square out of the picture, subtracting a sky of level `sky` at (x, y) that rises by `slope` a pixel. Blank pixels and pixels
 * at or above `ceiling` become NaN.
 */
export function cutStamp(
  image: Picture, x: number, y: number, reach: number, sky: number, slope: Slope, ceiling: number, stamp: Stamp,
): void {
  const { width, height, data } = image;
  const left = Math.max(0, Math.round(x) - reach);
  const right = Math.min(width - 1, Math.round(x) + reach);
  const top = Math.max(0, Math.round(y) - reach);
  const bottom = Math.min(height - 1, Math.round(y) + reach);
  const columns = Math.max(0, right - left + 1);
  const rows = Math.max(0, bottom - top + 1);
  stamp.left = left;
  stamp.top = top;
  stamp.columns = columns;
  stamp.rows = rows;
  if (stamp.values.length < columns * rows) stamp.values = new Float64Array(columns * rows);
  const values = stamp.values;
  if (image.quick?.cut(left, right, top, bottom, x, y, sky, slope, ceiling, values)) return;
  let k = 0;
  for (let v = top; v <= bottom; v++) {
    let below = sky + slope.y * (v - y) + slope.x * (left - x);
    for (let u = left; u <= right; u++) {
      const value = data[v * width + u]!;
      values[k++] = value < ceiling && value - value === 0 ? value - below : NaN;
      below += slope.x;
    }
  }
}
