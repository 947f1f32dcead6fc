import type { Picture } from './picture.js';
import { axesOf } from './shape.js';
import type { Shape, WindowSums } from './windowed.js';
import { windowSums } from './window.js';

/** Share of the least height that must be reached at the first steps of a climb that may start a pixel and a half off. */
const hopes = [0.45, 0.7, 0.85];

/**
 * Moves a Gaussian window of the stars' shape to where the light under it is centred: the windowed position of
 * Bertin & Arnouts' `source-extractor`, and the maximum of the matched-filtered picture. Twice the offset at a step,
 * because window times star has half their width. `sums` holds the sums at the place returned; null where there is no light.
 * Pixels of at least `ceiling` do not count. Gives up early (null) where the filtered picture, light / √weight, won't reach `least`.
 */
export function climb(
  image: Picture, x0: number, y0: number, window: Shape, sky: number, sums: WindowSums, ceiling = Infinity, least = 0,
): { x: number; y: number } | null {
  const longest = Math.sqrt(axesOf(window).long);
  if (image.quick) return image.quick.climb(x0, y0, window, longest, sky, sums, ceiling, least, hopes);
  let x = x0;
  let y = y0;
  for (let round = 0; round < 12; round++) {
    windowSums(image, x, y, window, sky, ceiling, sums);
    if (!(sums.light > 0)) return null;
    // Most candidates are noise, which the first steps show.
    if (round < hopes.length && sums.light < hopes[round]! * least * Math.sqrt(sums.weight)) return null;
    const dx = Math.max(-longest, Math.min(longest, 2 * sums.dx));
    const dy = Math.max(-longest, Math.min(longest, 2 * sums.dy));
    // A hundredth of a pixel is enough to start a fit from.
    if (dx * dx + dy * dy < 1e-4) break;
    x += dx;
    y += dy;
    if (Math.abs(x - x0) > 6 * longest + 2 || Math.abs(y - y0) > 6 * longest + 2) return null;
  }
  return { x, y };
}
