import type { Image, PixelArray } from '../frames/frame.js';
import type { Background } from './background.js';
import { meshAlongRow, meshAt, noiseAt } from './background.js';
import { quantile } from './quantile.js';

/** Places where a star may be, flat. */
export interface Candidates {
  readonly count: number;
  /** Pixels, centre of the block. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Height above the sky in the smoothed picture, in units of its noise. */
  readonly height: Float64Array;
}

/** No more candidates than this are kept: a frame that has more is not a picture of stars. */
const most = 400_000;

/**
 * Local maxima of the picture summed over blocks of `block`² pixels and smoothed by (1 2 1) in both directions, above
 * `threshold` times the noise of that smoothed picture. One pass; the smoothing stands in for the matched filter
 * of a star about 1.7 blocks wide and costs a fraction of convolving every pixel.
 */
export function findCandidates(image: Image, mesh: Background, block: number, threshold: number): Candidates {
  const { width, height, data } = image;
  const columns = Math.floor(width / block);
  const rows = Math.floor(height / block);
  const xs: number[] = [];
  const ys: number[] = [];
  const heights: number[] = [];
  if (columns === 0 || rows === 0) return { count: 0, x: new Float64Array(0), y: new Float64Array(0), height: new Float64Array(0) };

  // Smoothing adds up 16 blocks' worth of sky, and √36 blocks' worth of noise where pixels are independent.
  const skyShare = 16 * block * block;
  const noiseShare = 6 * block * correlation(image, mesh, block);
  const limit = mesh.level.map((level, c) => skyShare * level + threshold * noiseShare * mesh.noise[c]!);
  const half = (block - 1) / 2;

  const line = new Float64Array(columns);
  const limits = new Float64Array(columns);
  const slopes = new Float64Array(columns);
  let hereHits: Hits = { count: 0, columns: new Int32Array(columns) };
  let spareHits: Hits = { count: 0, columns: new Int32Array(columns) };
  // Rows smoothed across, of which three make a row of the smoothed picture; and three rows of that, to compare.
  let a = new Float64Array(columns);
  let b = new Float64Array(columns);
  let c = new Float64Array(columns);
  let above = new Float64Array(columns).fill(-1);
  let here = new Float64Array(columns).fill(-1);
  let below = new Float64Array(columns).fill(-1);
  // Any finite number serves for the sky where a whole block is blank.
  const blank = mesh.level[0]! * block * block;
  const mayBeBlank = data instanceof Float32Array || data instanceof Float64Array;

  for (let j = 0; j <= rows + 1; j++) {
    // a, b, c are rows j − 2, j − 1, j of blocks; the rim is repeated outward.
    const spare = a;
    a = b;
    b = c;
    c = spare;
    if (j < rows) {
      sumBlocks(data, j * block * width, width, block, line);
      if (mayBeBlank && !allFinite(line)) patchBlanks(data, j * block * width, width, block, line, blank);
      smoothAcross(line, c);
      if (j === 0) b.set(c);
    } else c.set(b);
    if (j === 0) continue;
    // Row j − 1 of the smoothed picture.
    const spareRow = above;
    above = here;
    here = below;
    below = spareRow;
    const swapHits = hereHits;
    hereHits = spareHits;
    spareHits = swapHits;
    spareHits.count = 0;
    const hits = j <= rows ? spareHits : null;
    if (hits !== null) {
      const r = j - 1;
      if (r % rowsPerLine === 0) {
        // The limit is worked out for every fourth row and drawn straight between.
        meshAlongRow(mesh, limit, r * block + half, half, block, limits);
        meshAlongRow(mesh, limit, (r + rowsPerLine) * block + half, half, block, slopes);
        toSlopes(limits, slopes, rowsPerLine);
      }
      excess(a, b, c, limits, slopes, r % rowsPerLine, below, hits);
    } else below.fill(-1);
    if (j === 1) continue;
    // Row j − 2 now has both its neighbours.
    const peaks = keepPeaks(above, here, below, hereHits);
    const y = (j - 2) * block + half;
    for (let k = 0; k < peaks; k++) {
      const i = hereHits.columns[k]!;
      const x = i * block + half;
      xs.push(x);
      ys.push(y);
      heights.push(here[i]! / (noiseShare * noiseAt(mesh, x, y)) + threshold);
    }
    if (xs.length > most) break;
  }
  return ranked(xs, ys, heights);
}

/** Rows of blocks between two for which the limit is worked out. */
const rowsPerLine = 4;

/** Columns of a row above their limit. */
interface Hits {
  count: number;
  readonly columns: Int32Array;
}

/** Keeps of the middle row's hits the local maxima, of equal neighbours the last in reading order; returns how many. */
function keepPeaks(above: Float64Array, here: Float64Array, below: Float64Array, hits: Hits): number {
  const last = here.length - 1;
  let n = 0;
  for (let k = 0; k < hits.count; k++) {
    const i = hits.columns[k]!;
    const v = here[i]!;
    const left = i > 0 ? i - 1 : i;
    const right = i < last ? i + 1 : i;
    if (v < above[left]! || v < above[i]! || v < above[right]! || (left < i && v < here[left]!)) continue;
    if (v <= below[left]! || v <= below[i]! || v <= below[right]! || (right > i && v <= here[right]!)) continue;
    hits.columns[n++] = i;
  }
  return n;
}

function toSlopes(from: Float64Array, to: Float64Array, rows: number): void {
  for (let i = 0; i < from.length; i++) to[i] = (to[i]! - from[i]!) / rows;
}

/** Sums blocks of one row of blocks; `start` is the index of its first pixel. */
function sumBlocks(data: PixelArray, start: number, width: number, block: number, out: Float64Array): void {
  const n = out.length;
  if (block === 1) {
    for (let i = 0; i < n; i++) out[i] = data[start + i]!;
  } else if (block === 2) {
    let p = start;
    let q = start + width;
    for (let i = 0; i < n; i++) {
      out[i] = data[p]! + data[p + 1]! + data[q]! + data[q + 1]!;
      p += 2;
      q += 2;
    }
  } else {
    out.fill(0);
    for (let v = 0; v < block; v++) {
      let p = start + v * width;
      for (let i = 0; i < n; i++) {
        let sum = 0;
        for (let u = 0; u < block; u++) sum += data[p++]!;
        out[i] = out[i]! + sum;
      }
    }
  }
}

function allFinite(line: Float64Array): boolean {
  let sum = 0;
  for (let i = 0; i < line.length; i++) sum += line[i]!;
  return sum - sum === 0;
}

/** Blank pixels take the mean of the others in their block, blank blocks a level that starts no star. */
function patchBlanks(
  data: PixelArray, start: number, width: number, block: number, line: Float64Array, blank: number,
): void {
  let last = blank;
  for (let i = 0; i < line.length; i++) {
    if (line[i]! - line[i]! !== 0) {
      let sum = 0;
      let n = 0;
      for (let v = 0; v < block; v++) {
        for (let u = 0; u < block; u++) {
          const value = data[start + v * width + i * block + u]!;
          if (value - value === 0) {
            sum += value;
            n++;
          }
        }
      }
      line[i] = n > 0 ? (sum / n) * block * block : last;
    }
    last = Math.min(line[i]!, blank);
  }
}

function smoothAcross(line: Float64Array, out: Float64Array): void {
  const n = line.length;
  let left = line[0]!;
  let here = left;
  for (let i = 0; i < n - 1; i++) {
    const right = line[i + 1]!;
    out[i] = left + 2 * here + right;
    left = here;
    here = right;
  }
  out[n - 1] = left + 3 * here;
}

/** Height of a smoothed row above its limit, and where that is positive. */
function excess(
  a: Float64Array, b: Float64Array, c: Float64Array, limits: Float64Array, slopes: Float64Array, row: number,
  out: Float64Array, hits: Hits,
): void {
  const { columns } = hits;
  let n = 0;
  for (let i = 0; i < out.length; i++) {
    const v = a[i]! + 2 * b[i]! + c[i]! - limits[i]! - row * slopes[i]!;
    out[i] = v;
    if (v > 0) columns[n++] = i;
  }
  hits.count = n;
}

/** Places probed for the noise of the smoothed picture. */
const probes = 2500;

/**
 * How much noisier the smoothed picture is than it would be if pixels were independent: above 1 where a frame was
 * averaged or interpolated (mosaic colours, stacking). From the lower half of the smoothed values at a grid of places.
 */
function correlation(image: Image, mesh: Background, block: number): number {
  const { width, height, data } = image;
  const span = 4 * block;
  const across = width - span;
  const down = height - span;
  if (across < 8 || down < 8) return 1;
  const step = Math.max(span, Math.sqrt((across * down) / probes));
  const columns = Math.ceil(across / step);
  const values = new Float64Array(columns * Math.ceil(down / step));
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
 * One sigma of values probed on a grid of places, `columns` a row, NaN where there is none, from their lower tail, where
 * stars and their wings hardly reach (5th to 25th percentile: 0.9704 sigmas of a Gaussian). Of the values as they are and of
 * each less the median of its neighbours the smaller: what the mesh leaves of a bent sky widens the one, crowds of stars
 * the other. Of nine parts of the picture a middling one decides,
 * so that a roof or trees do not. 1 where there are too few to tell. At least 1.
 */
export function spread(values: Float64Array, columns: number, count: number): number {
  const rows = Math.floor(count / columns);
  const parts = count < 900 ? 1 : 3;
  const sigmas: number[] = [];
  for (let part = 0; part < parts * parts; part++) {
    const left = Math.floor(((part % parts) * columns) / parts);
    const right = Math.floor((((part % parts) + 1) * columns) / parts);
    const top = Math.floor((Math.floor(part / parts) * rows) / parts);
    const bottom = Math.floor(((Math.floor(part / parts) + 1) * rows) / parts);
    const sigma = spreadOfPart(values, columns, rows, left, top, right, bottom);
    if (Number.isFinite(sigma)) sigmas.push(sigma);
  }
  if (sigmas.length === 0) return 1;
  const sigma = quantile(Float64Array.from(sigmas), sigmas.length, 0.4);
  // The estimate is good to some five percent; noise of independent pixels is the commonest.
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
  return n < 80 ? NaN : 1.03 * Math.min(lowerTail(out, n), lowerTail(plain, n));
}

/** The smaller of two is a little too small: three percent for these numbers of places. */
function lowerTail(values: Float64Array, n: number): number {
  return (quantile(values, n, 0.25) - quantile(values, n, 0.05)) / 0.9704;
}

/** Sigma of a Gaussian deviate less the median of eight others (whose variance is 0.169, by simulation). */
const medianOfEight = Math.sqrt(1.169);

function ranked(xs: number[], ys: number[], heights: number[]): Candidates {
  const count = xs.length;
  const order = new Uint32Array(count);
  for (let k = 0; k < count; k++) order[k] = k;
  order.sort((p, q) => heights[q]! - heights[p]! || p - q);
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  const height = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    const from = order[k]!;
    x[k] = xs[from]!;
    y[k] = ys[from]!;
    height[k] = heights[from]!;
  }
  return { count, x, y, height };
}
