import type { Background } from './background.js';
import { noiseAt, skyAt } from './background.js';
import type { Candidates } from './candidates.js';
import type { Picture } from './picture.js';

/**
 * The value from which pixels count as saturated. The format's ceiling, or lower where the frame shows it: the brightest candidates have
 * tops of three or more pixels all at one greatest value. Infinity where neither is known.
 */
export function findSaturation(image: Picture, mesh: Background, candidates: Candidates): number {
  const { width, height, data } = image;
  const given = image.ceiling ?? Infinity;
  const reach = 3;
  const tries = Math.min(candidates.count, 100);
  let top = -Infinity;
  for (let k = 0; k < tries; k++) {
    forSquare(candidates.x[k]!, candidates.y[k]!, reach, width, height, (i) => {
      const value = data[i]!;
      if (value > top && value < Infinity) top = value;
    });
  }
  if (top === -Infinity) return given;
  for (let k = 0; k < tries; k++) {
    const x = candidates.x[k]!;
    const y = candidates.y[k]!;
    const sky = skyAt(image, mesh, x, y);
    if (top - sky < 50 * noiseAt(mesh, x, y)) continue;
    // Three pixels that agree to a two-thousandth are clipped: no lens makes that.
    const level = top - (top - sky) / 2000;
    let flat = 0;
    forSquare(x, y, reach, width, height, (i) => {
      if (data[i]! >= level) flat++;
    });
    if (flat >= 3) return Math.min(given, level);
  }
  return given;
}

/** Calls `visit` with the index of each pixel of the square of `reach` pixels around a place, as far as the picture goes. */
function forSquare(x: number, y: number, reach: number, width: number, height: number, visit: (index: number) => void): void {
  const cx = Math.round(x);
  const cy = Math.round(y);
  for (let v = Math.max(0, cy - reach); v <= Math.min(height - 1, cy + reach); v++) {
    for (let u = Math.max(0, cx - reach); u <= Math.min(width - 1, cx + reach); u++) visit(v * width + u);
  }
}
