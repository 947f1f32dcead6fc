import { type Background, noiseAt, skyAt } from './background.js';
import type { Picture } from './picture.js';
import { quantile } from './quantile.js';

/** Least excess of a lone pixel over the brightest pixel beside it: in units of the noise, and as a share of its height above the sky. */
const LEAST_NOISE = 5;
const LEAST_SHARE = 0.4;

/**
 * FWHM from which no pixel of a star exceeds its neighbours like that, px: the best neighbour has three quarters of the middle pixel's
 * height.
 */
export const WIDE_FWHM = 3.2;

/**
 * The picture with its lone bright pixels (hot ones, particle hits) set to the mean of those around them, for stars of at least
 * `WIDE_FWHM`: two such pixels under one star's window look like a star. The same picture where there are none.
 */
export function withoutLonePixels(image: Picture, mesh: Background): Picture {
  const { width, height, data } = image;
  // Half the typical noise excludes most pixels; the local noise decides.
  const clear = 0.5 * LEAST_NOISE * quantile(mesh.noise.slice(), mesh.noise.length, 0.5);
  let levelled: Picture['data'] | null = null;
  for (let y = 1; y < height - 1; y++) {
    for (let x = 1, at = y * width + 1; x < width - 1; x++, at++) {
      const value = data[at]!;
      const least = value - clear;
      if (!(data[at - 1]! < least && data[at + 1]! < least && data[at - width]! < least && data[at + width]! < least)) continue;
      const corners = [data[at - width - 1]!, data[at - width + 1]!, data[at + width - 1]!, data[at + width + 1]!];
      const beside = [data[at - 1]!, data[at + 1]!, data[at - width]!, data[at + width]!, ...corners];
      const excess = value - Math.max(...beside);
      const aboveSky = value - skyAt(image, mesh, x, y);
      if (!(excess > LEAST_NOISE * noiseAt(mesh, x, y) && excess > LEAST_SHARE * aboveSky)) continue;
      levelled ??= data.slice();
      levelled[at] = beside.reduce((sum, v) => sum + v, 0) / beside.length;
    }
  }
  return levelled ? { ...image, data: levelled, quick: null } : image;
}
