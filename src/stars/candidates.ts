import type { Background } from './background.js';
import { meshAlongRow, noiseAt } from './background.js';
import { type BlockRows, ROWS_PER_LIMIT, plainBlockRows } from './blockRows.js';
import { blockCorrelation } from './correlatedNoise.js';
import { quickBlockRows } from './kernel/quickBlockRows.js';
import type { Picture } from './picture.js';

/** Places where a star may be, flat. */
export interface Candidates {
  readonly count: number;
  /** Pixels, centre of the block. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Height above the sky in the smoothed picture, in units of its noise. */
  readonly height: Float64Array;
}

/** No more candidates than this are kept: a frame with more is not a picture of stars. */
const most = 400_000;

/**
 * Local maxima of the picture summed over blocks of `block`² pixels and smoothed by (1 2 1) in both directions, above `threshold` times the
 * noise of that smoothed picture. One pass; the smoothing approximates the matched filter of a star about 1.7 blocks wide at a fraction of
 * the cost of convolving every pixel.
 */
export function findCandidates(image: Picture, mesh: Background, block: number, threshold: number): Candidates {
  const columns = Math.floor(image.width / block);
  const rows = Math.floor(image.height / block);
  const xs: number[] = [];
  const ys: number[] = [];
  const heights: number[] = [];
  if (columns === 0 || rows === 0) return ranked(xs, ys, heights);

  // Smoothing adds up 16 blocks' worth of sky, and √36 blocks' worth of noise where pixels are independent.
  const skyShare = 16 * block * block;
  const noiseShare = 6 * block * blockCorrelation(image, mesh, block);
  const limit = mesh.level.map((level, c) => skyShare * level + threshold * noiseShare * mesh.noise[c]!);
  const half = (block - 1) / 2;
  // Any finite number serves as the sky where a whole block is blank.
  const pass = quickBlockRows(image, block, noiseAt(mesh, image.width / 2, image.height / 2))
    ?? plainBlockRows(image, block, mesh.level[0]! * block * block);
  const line = new Float64Array(columns);
  const drawLimit = (r: number): void => {
    meshAlongRow(mesh, limit, r * block + half, half, block, line);
    pass.limitAhead(line);
  };
  drawLimit(0);
  pass.take(0);
  for (let r = 0; r <= rows; r++) {
    // Row r of the smoothed picture, for which row r + 1 of blocks is needed.
    if (r < rows) {
      pass.take(r + 1);
      if (r % ROWS_PER_LIMIT === 0) drawLimit(r + ROWS_PER_LIMIT);
      pass.smooth(r % ROWS_PER_LIMIT);
    } else pass.close();
    if (r === 0) continue;
    // Row r − 1 now has both its neighbours.
    const { here, hits } = pass;
    const peaks = keepPeaks(pass);
    const y = (r - 1) * block + half;
    for (let k = 0; k < peaks; k++) {
      const i = hits.columns[k]!;
      const x = i * block + half;
      xs.push(x);
      ys.push(y);
      heights.push(here[i]! / (noiseShare * noiseAt(mesh, x, y)) + threshold);
    }
    if (xs.length > most) break;
  }
  return ranked(xs, ys, heights);
}

/** Keeps only the local maxima among the middle row's hits, of equal neighbours the last in reading order; returns how many. */
function keepPeaks({ above, here, below, hits }: BlockRows): number {
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
