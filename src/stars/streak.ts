import type { Image } from '../frames/frame.js';
import type { Shape, WindowSums } from './window.js';
import { windowSums } from './window.js';

/** Steps along the long axis, in FWHM along it, at which a streak still shines and a star does not. */
const steps = [2, 3, 4];

/**
 * True where the light goes on along its long axis, on one side at least, as a satellite's or aircraft's trail, a hot
 * column, or the diffraction spike of a bright star does: at each of three further places it is a third as strong.
 * `moments` are the light's windowed second moments, `peak` the window's sum at (x, y).
 */
export function isStreak(
  image: Image, x: number, y: number, moments: Shape, window: Shape, sky: number, light: number, sums: WindowSums,
): boolean {
  const direction = 0.5 * Math.atan2(2 * moments.xy, moments.xx - moments.yy);
  for (const turn of [0, 0.2, -0.2]) {
    const ux = Math.cos(direction + turn);
    const uy = Math.sin(direction + turn);
    const sigma = Math.sqrt(window.xx * ux * ux + 2 * window.xy * ux * uy + window.yy * uy * uy);
    for (const side of [-1, 1]) {
      let on = 0;
      for (const step of steps) {
        const away = side * step * 2.3548 * sigma;
        windowSums(image, x + ux * away, y + uy * away, window, sky, Infinity, sums);
        if (sums.light > 0.33 * light) on++;
        else break;
      }
      if (on === steps.length) return true;
    }
  }
  return false;
}
