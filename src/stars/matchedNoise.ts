import type { Image } from '../frames/frame.js';
import type { Background } from './background.js';
import { meshAt, noiseAt } from './background.js';
import { spread } from './candidates.js';
import type { Shape } from './window.js';
import { emptySums, windowSums } from './window.js';

/** Places probed for the noise of the matched-filtered picture. */
const probes = 2500;

/** How much noisier the matched-filtered picture is than with independent pixels, from a grid of probed places. */
export function matchedCorrelation(image: Image, mesh: Background, shape: Shape): number {
  const sums = emptySums();
  const { width, height } = image;
  const step = Math.max(1, Math.sqrt((width * height) / probes));
  const values = new Float64Array((Math.ceil(width / step) + 1) * (Math.ceil(height / step) + 1));
  let n = 0;
  for (let y = step / 2; y < height; y += step) {
    for (let x = step / 2; x < width; x += step) {
      const px = Math.floor(x);
      const py = Math.floor(y);
      windowSums(image, px, py, shape, meshAt(mesh, mesh.level, px, py), Infinity, sums);
      if (sums.inside > 0.9) values[n++] = sums.light / (noiseAt(mesh, px, py) * Math.sqrt(sums.weight));
    }
  }
  return spread(values, n);
}
