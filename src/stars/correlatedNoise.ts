import type { PixelArray } from '../frames/frame.js';
import type { Background } from './background.js';
import { meshAt, noiseAt } from './background.js';
import type { Picture, QuickProbes } from './picture.js';
import { quantile } from './quantile.js';

/** Number of places at which the noise of the smoothed picture is sampled. */
const probes = 2500;

/**
 * How much noisier the smoothed picture is than it would be if pixels were independent: above 1 where a frame was
 * averaged or interpolated (mosaic colours, stacking). From the lower half of the smoothed values at a grid of places.
 */
export function blockCorrelation(image: Picture, mesh: Background, block: number): number {
  const { width, height, data } = image;
  const span = 4 * block;
  const across = width - span;
  const down = height - span;
  if (across < 8 || down < 8) return 1;
  const step = Math.max(span, Math.sqrt((across * down) / probes));
  const columns = Math.ceil(across / step);
  const places = columns * Math.ceil(down / step);
  const quick = image.quick?.mesh === mesh ? image.quick.blockProbes(block, step, across, down, columns, places) : null;
  if (quick) return quickSpread(quick, columns);
  const values = new Float64Array(places);
  let n = 0;
  // (1 2 1) over blocks, spelled out for each pixel.
  const weights = new Float64Array(span - block);
  for (let u = 0; u < weights.length; u++) weights[u] = u >= block && u < 2 * block ? 2 : 1;
  const middle = (weights.length - 1) / 2;
  for (let v0 = 0; v0 < down; v0 += step) {
    for (let i = 0; i < columns; i++) {
      const y = Math.floor(v0);
      const x = Math.floor(i * step);
      const sum = weigh(data, y * width + x, width, weights, meshAt(mesh, mesh.level, x + middle, y + middle));
      values[n++] = sum - sum === 0 ? sum / (6 * block * noiseAt(mesh, x, y)) : NaN;
    }
  }
  return spread(values, columns, n);
}

function weigh(data: PixelArray, start: number, width: number, weights: Float64Array, sky: number): number {
  const n = weights.length;
  let sum = 0;
  for (let v = 0; v < n; v++) {
    let part = 0;
    const row = start + v * width;
    for (let u = 0; u < n; u++) part += weights[u]! * (data[row + u]! - sky);
    sum += weights[v]! * part;
  }
  return sum;
}

/**
 * One sigma of values sampled on a grid of places, `columns` a row, NaN where there is none, from their lower tail, where stars and their
 * wings hardly reach (5th to 25th percentile: 0.9704 sigmas of a Gaussian). The smaller of two estimates: from the values as they are, and
 * from each less the median of its neighbours; a sky that the mesh did not follow enlarges the first, crowds of stars the second. Of nine
 * parts of the picture a middle one decides, so that a roof or trees do not. 1 where there are too few places. At least 1.
 */
export function spread(values: Float64Array, columns: number, count: number): number {
  const rows = Math.floor(count / columns);
  return spreadOfParts(columns, count, (left, top, right, bottom) => spreadOfPart(values, columns, rows, left, top, right, bottom));
}

/** The same of values in a kernel's memory. */
export function quickSpread(probes: QuickProbes, columns: number): number {
  return spreadOfParts(columns, probes.count, (left, top, right, bottom) => {
    const tails = probes.tails(left, top, right, bottom, medianOfEight, leastOfPart, ...tail);
    return tails ? sigmaOfTails(tails.less, tails.plain) : NaN;
  });
}

function spreadOfParts(
  columns: number, count: number, ofPart: (left: number, top: number, right: number, bottom: number) => number,
): number {
  const rows = Math.floor(count / columns);
  const parts = count < 900 ? 1 : 3;
  const sigmas: number[] = [];
  for (let part = 0; part < parts * parts; part++) {
    const left = Math.floor(((part % parts) * columns) / parts);
    const right = Math.floor((((part % parts) + 1) * columns) / parts);
    const top = Math.floor((Math.floor(part / parts) * rows) / parts);
    const bottom = Math.floor(((Math.floor(part / parts) + 1) * rows) / parts);
    const sigma = ofPart(left, top, right, bottom);
    if (Number.isFinite(sigma)) sigmas.push(sigma);
  }
  if (sigmas.length === 0) return 1;
  const sigma = quantile(Float64Array.from(sigmas), sigmas.length, 0.4);
  // The estimate has an error of some five percent; independent pixels are the most common case.
  return sigma < 1.08 ? 1 : sigma;
}

function spreadOfPart(
  values: Float64Array, columns: number, rows: number, left: number, top: number, right: number, bottom: number,
): number {
  const out = new Float64Array(Math.max(0, (right - left) * (bottom - top)));
  const plain = new Float64Array(out.length);
  const near = new Float64Array(8);
  let n = 0;
  for (let j = top; j < bottom; j++) {
    for (let i = left; i < right; i++) {
      const value = values[j * columns + i]!;
      if (value !== value) continue;
      let m = 0;
      for (let v = Math.max(0, j - 1); v <= Math.min(rows - 1, j + 1); v++) {
        for (let u = Math.max(0, i - 1); u <= Math.min(columns - 1, i + 1); u++) {
          const other = values[v * columns + u]!;
          if ((u !== i || v !== j) && other === other) near[m++] = other;
        }
      }
      if (m < 5) continue;
      plain[n] = value;
      out[n++] = (value - quantile(near, m, 0.5)) / medianOfEight;
    }
  }
  return n < leastOfPart ? NaN : sigmaOfTails(lengthOfTail(out, n), lengthOfTail(plain, n));
}

/** The fewest values of a part that tell its sigma. */
const leastOfPart = 80;
/** Quantiles between which the lower tail is measured, and its length in sigmas. */
const tail = [0.05, 0.25] as const;
const tailSigmas = 0.9704;

function lengthOfTail(values: Float64Array, n: number): number {
  return quantile(values, n, tail[1]) - quantile(values, n, tail[0]);
}

/** The smaller of two is a little too small: three percent for these numbers of places. */
function sigmaOfTails(less: number, plain: number): number {
  return 1.03 * Math.min(less / tailSigmas, plain / tailSigmas);
}

/** Sigma of a Gaussian deviate less the median of eight others (whose variance is 0.169, by simulation). */
const medianOfEight = Math.sqrt(1.169);
