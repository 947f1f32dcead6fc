import type { Picture } from './picture.js';
import { fwhmPerSigma } from './shape.js';
import type { Shape, WindowSums } from './windowed.js';
import { windowSums } from './window.js';

/** Steps along the long axis, in FWHM along it, where a streak is still bright and a star is not. */
const steps = [2, 3, 4, 5];
/** Share of the central light that must be found there. */
const goesOn = 0.33;

/**
 * True where the light continues along its long axis, two steps to both sides or four to one, as the trail of a satellite or aircraft, a
 * hot column, or the diffraction spike of a bright star does. `moments` are the light's windowed second moments, `light` the window's sum
 * at (x, y). Overwrites `sums`.
 */
export function isStreak(
  image: Picture, x: number, y: number, moments: Shape, window: Shape, sky: number, light: number, sums: WindowSums,
): boolean {
  const direction = 0.5 * Math.atan2(2 * moments.xy, moments.xx - moments.yy);
  for (const turn of [0, 0.2, -0.2]) {
    const ux = Math.cos(direction + turn);
    const uy = Math.sin(direction + turn);
    const sigma = Math.sqrt(window.xx * ux * ux + 2 * window.xy * ux * uy + window.yy * uy * uy);
    const reached = (side: number): number => {
      let on = 0;
      for (const step of steps) {
        const away = side * step * fwhmPerSigma * sigma;
        windowSums(image, x + ux * away, y + uy * away, window, sky, Infinity, sums);
        if (!(sums.light > goesOn * light)) break;
        on++;
      }
      return on;
    };
    const forth = reached(1);
    if (forth === steps.length) return true;
    const back = reached(-1);
    if (back === steps.length || (forth >= 2 && back >= 2)) return true;
  }
  return false;
}
