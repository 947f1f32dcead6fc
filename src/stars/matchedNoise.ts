import type { Image } from '../frames/frame.js';
import type { Background } from './background.js';
import { meshAt, noiseAt } from './background.js';
import { spread } from './correlatedNoise.js';
import { fwhmOf } from './shape.js';
import type { Shape } from './window.js';
import { emptySums, windowSums } from './window.js';

/** Places probed for the noise of the matched-filtered picture. */
const probes = 2500;

/** How much noisier the matched-filtered picture is than with independent pixels, from a grid of probed places. */
export function matchedCorrelation(image: Image, mesh: Background, shape: Shape): number {
  const sums = emptySums();
  const { width, height } = image;
  // Places three widths apart are independent; and of a picture that is hardly wider than a line no more are probed.
  const step = Math.max(3 * fwhmOf(shape), Math.sqrt((width * height) / probes), Math.max(width, height) / probes);
  const columns = Math.ceil(width / step);
  const values = new Float64Array(columns * Math.ceil(height / step));
  let n = 0;
  for (let y = step / 2; n < values.length; y += step) {
    for (let i = 0; i < columns; i++) {
      const u = Math.floor((i + 0.5) * step);
      const v = Math.floor(y);
      windowSums(image, u, v, shape, meshAt(mesh, mesh.level, u, v), Infinity, sums);
      values[n++] = sums.inside > 0.9 ? sums.light / (noiseAt(mesh, u, v) * Math.sqrt(sums.weight)) : NaN;
    }
  }
  return spread(values, columns, n);
}
