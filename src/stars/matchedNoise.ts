import type { Background } from './background.js';
import { meshAt, noiseAt } from './background.js';
import { quickSpread, spread } from './correlatedNoise.js';
import type { Picture } from './picture.js';
import { fwhmOf } from './shape.js';
import { windowSums } from './window.js';
import { type Shape, emptySums } from './windowed.js';

/** Number of places at which the noise of the matched-filtered picture is sampled. */
const probes = 2500;

/** The ratio of the matched-filtered picture's noise to that with independent pixels, from a grid of places. */
export function matchedCorrelation(image: Picture, mesh: Background, shape: Shape): number {
  const sums = emptySums();
  const { width, height } = image;
  // Places three widths apart are independent; a picture that is hardly wider than a line gets no more.
  const step = Math.max(3 * fwhmOf(shape), Math.sqrt((width * height) / probes), Math.max(width, height) / probes);
  const columns = Math.ceil(width / step);
  const count = columns * Math.ceil(height / step);
  const quick = image.quick?.mesh === mesh ? image.quick.matchedProbes(step, columns, count, shape) : null;
  if (quick) return quickSpread(quick, columns);
  const values = new Float64Array(count);
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
