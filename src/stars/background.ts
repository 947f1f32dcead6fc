import type { Image } from '../frames/frame.js';
import { fillGaps } from './fillGaps.js';
import type { Background, Picture } from './picture.js';
import { type Values, quantile } from './quantile.js';

export type { Background } from './picture.js';

/** Wanted number of sampled pixels a cell: the level's error is then 0.06 sigma before smoothing. */
const samplesWanted = 480;

/** Number of cells from which the usual ratio of spread to difference is taken. */
const calmShare = 0.4;

/**
 * Sky and noise by a mesh of clipped medians (Bertin & Arnouts 1996, A&AS 117, 393, section 4) of sampled pixels. The noise of a cell comes
 * from the differences of pixels two apart, which neither a slope of the sky nor the edge of a roof enlarges; where the picture's noise is
 * correlated (mosaic colours, stacking) these differences are too small, by the same factor everywhere, which is taken from the calmer
 * cells. Null where no cell has usable pixels.
 */
export function measureBackground(image: Picture): Background | null {
  const { width, height } = image;
  // The sky's slopes need not be known as finely as larger pictures would show them.
  const size = Math.max(64, Math.min(192, 64 * Math.pow((width * height) / 1e6, 0.3)));
  const columns = Math.max(1, Math.round(width / size));
  const rows = Math.max(1, Math.round(height / size));
  const cellWidth = width / columns;
  const cellHeight = height / rows;
  const level = new Float64Array(columns * rows).fill(NaN);
  const spread = new Float64Array(columns * rows).fill(NaN);
  const noise = new Float64Array(columns * rows).fill(NaN);
  const area = Math.ceil(cellWidth) * Math.ceil(cellHeight);
  // Odd steps, so that every colour of a mosaic takes part.
  const stepX = area > 2 * samplesWanted ? 3 : 1;
  const stepY = Math.max(1, 2 * Math.round((area / stepX / samplesWanted - 1) / 2) + 1);
  const most = Math.ceil(area / stepX) + 2 * Math.ceil(cellHeight) + 2;
  const samples = image.quick && most <= image.quick.mostSamples ? null : makeSamples(image, most);
  let usable = 0;
  for (let j = 0; j < rows; j++) {
    const top = Math.floor(j * cellHeight);
    const bottom = Math.floor((j + 1) * cellHeight);
    for (let i = 0; i < columns; i++) {
      const left = Math.floor(i * cellWidth);
      const right = Math.floor((i + 1) * cellWidth);
      const least = (Math.ceil((right - left) / stepX) * Math.ceil((bottom - top) / stepY)) / 4;
      const cell = samples ? plainCell(image.data, width, left, top, right, bottom, stepX, stepY, least, samples)
        : image.quick!.cell(left, top, right, bottom, stepX, stepY, least);
      if (cell === null) continue;
      const c = j * columns + i;
      level[c] = cell.level;
      spread[c] = cell.noise;
      noise[c] = Number.isNaN(cell.difference) ? cell.noise : differenceNoise * cell.difference;
      usable++;
    }
  }
  if (usable === 0) return null;
  fillGaps(level, columns, rows);
  fillGaps(spread, columns, rows);
  fillGaps(noise, columns, rows);
  const excess = spreadOverDifference(level, spread, noise, columns, rows);
  const floor = smallestNoise(noise);
  for (let c = 0; c < noise.length; c++) noise[c] = Math.max(noise[c]! * excess, floor);
  const calm = medianFiltered(noise, columns, rows, 0);
  // A cell that a bright star or the moon's glare fills follows its neighbours.
  const despiked = medianFiltered(level, columns, rows, 3, spread);
  const centred = atCentres(smoothed(despiked, columns, rows, calm), columns, rows, calm);
  return { columns, rows, cellWidth, cellHeight, level: centred, noise: calm };
}

/** One sigma of a Gaussian over the median of |difference| of two of its deviates. */
const differenceNoise = 1.4826 / Math.SQRT2;

interface Samples {
  count: number;
  readonly values: Values;
  pairs: number;
  /** |differences| of pixels two apart along a row. */
  readonly differences: Values;
}

function makeSamples({ data }: Image, capacity: number): Samples {
  const whole = data instanceof Uint16Array || data instanceof Int16Array || data instanceof Uint8Array;
  const make = (): Values => (whole ? new Int32Array(capacity) : new Float64Array(capacity));
  return { count: 0, values: make(), pairs: 0, differences: make() };
}

function sample(
  data: Image['data'], width: number, left: number, top: number, right: number, bottom: number,
  stepX: number, stepY: number, out: Samples,
): void {
  const { values, differences } = out;
  let n = 0;
  let pairs = 0;
  let phase = 0;
  for (let y = top; y < bottom; y += stepY) {
    const row = y * width;
    for (let x = left + phase; x < right; x += stepX) {
      const v = data[row + x]!;
      if (v - v !== 0) continue;
      values[n++] = v;
      if (x + 2 < right) {
        const difference = Math.abs(data[row + x + 2]! - v);
        if (difference < Infinity) differences[pairs++] = difference;
      }
    }
    phase = phase + 1 < stepX ? phase + 1 : 0;
  }
  out.count = n;
  out.pairs = pairs;
}

/** One cell; null where fewer than `least` pixels have values, or none. `difference` is NaN where there are few pairs. */
function plainCell(
  data: Image['data'], width: number, left: number, top: number, right: number, bottom: number, stepX: number, stepY: number, least: number,
  samples: Samples,
): { level: number; noise: number; difference: number } | null {
  sample(data, width, left, top, right, bottom, stepX, stepY, samples);
  if (samples.count === 0 || samples.count < least) return null;
  const difference = samples.pairs < 20 ? NaN : quantile(samples.differences, samples.pairs, 0.5);
  return { ...clippedMedian(samples.values, samples.count), difference };
}

/** The ratio of the calmer cells' spread to the spread expected from their differences, with the slope of the sky removed; at least 1. */
function spreadOverDifference(level: Float64Array, spread: Float64Array, noise: Float64Array, columns: number, rows: number): number {
  const ratios = new Float64Array(level.length);
  let n = 0;
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const c = j * columns + i;
      const right = Math.min(columns - 1, i + 1);
      const left = Math.max(0, i - 1);
      const under = Math.min(rows - 1, j + 1);
      const over = Math.max(0, j - 1);
      // Change of the level across one cell; its variance is a twelfth of its square.
      const across = right > left ? (level[j * columns + right]! - level[j * columns + left]!) / (right - left) : 0;
      const down = under > over ? (level[under * columns + i]! - level[over * columns + i]!) / (under - over) : 0;
      const variance = spread[c]! ** 2 - (across * across + down * down) / 12;
      if (noise[c]! > 0) ratios[n++] = Math.sqrt(Math.max(0, variance)) / noise[c]!;
    }
  }
  const ratio = n === 0 ? 1 : quantile(ratios, n, n < 8 ? 0.5 : calmShare);
  // Stars add a little to the spread too; correlated noise adds more than that.
  return ratio > 1.15 ? ratio : 1;
}

function clippedMedian(a: Values, count: number): { level: number; noise: number } {
  let n = count;
  for (let round = 0; ; round++) {
    const level = quantile(a, n, 0.5);
    // After the median, the lower half is at the front.
    const noise = level - quantile(a, n, 0.15866, (n >> 1) + 1);
    if (round === 3 || noise <= 0) return { level, noise };
    const kept = keepBetween(a, n, level - 4 * noise, level + 3 * noise);
    // A few values in a hundred beyond three sigma change neither result by much.
    if (kept > 0.985 * n || kept === 0) return { level, noise };
    n = kept;
  }
}

function keepBetween(a: Values, n: number, low: number, high: number): number {
  let kept = 0;
  for (let k = 0; k < n; k++) {
    const v = a[k]!;
    if (v >= low && v <= high) a[kept++] = v;
  }
  return kept;
}

/** A noise for cells where every sampled pixel was equal: a hundredth of the usual noise, or next to nothing. */
function smallestNoise(noise: Float64Array): number {
  const positive = noise.filter((s) => s > 0);
  if (positive.length === 0) return 1e-6;
  return 0.01 * quantile(positive, positive.length, 0.5);
}

/**
 * Median of 3x3 cells. With `tolerance` > 0 only a cell changes that exceeds all its neighbours by that many times `scale`: slopes and
 * vignetting must stay.
 */
function medianFiltered(
  grid: Float64Array, columns: number, rows: number, tolerance: number, scale?: Float64Array,
): Float64Array {
  const out = grid.slice();
  const near = new Float64Array(9);
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const c = j * columns + i;
      let n = 0;
      let highest = -Infinity;
      for (let v = Math.max(0, j - 1); v <= Math.min(rows - 1, j + 1); v++) {
        for (let u = Math.max(0, i - 1); u <= Math.min(columns - 1, i + 1); u++) {
          const value = grid[v * columns + u]!;
          near[n++] = value;
          if (value > highest && (u !== i || v !== j)) highest = value;
        }
      }
      if (scale === undefined || (n > 3 && grid[c]! > highest + tolerance * scale[c]!)) out[c] = quantile(near, n, 0.5);
    }
  }
  return out;
}

/**
 * Converts the mean over each cell to the value at its centre: where the sky is curved, the mean differs by a 24th of the curvature across
 * a cell. By at most half the noise: a larger curvature is an edge.
 */
function atCentres(grid: Float64Array, columns: number, rows: number, noise: Float64Array): Float64Array {
  const out = grid.slice();
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const u = Math.min(columns - 2, Math.max(1, i));
      const v = Math.min(rows - 2, Math.max(1, j));
      let bend = 0;
      if (columns > 2) bend += grid[j * columns + u - 1]! - 2 * grid[j * columns + u]! + grid[j * columns + u + 1]!;
      if (rows > 2) bend += grid[(v - 1) * columns + i]! - 2 * grid[v * columns + i]! + grid[(v + 1) * columns + i]!;
      const most = 0.5 * noise[j * columns + i]!;
      out[j * columns + i] = grid[j * columns + i]! - Math.max(-most, Math.min(most, bend / 24));
    }
  }
  return out;
}

/** Share of a pixel's noise by which smoothing may change a cell: the medians' errors are smaller, so a larger change is an edge. */
const mostSmoothed = 0.3;

/** Quadratic smoothing over five cells along each axis (Savitzky & Golay 1964): calms the cells, keeps curvature and edges. */
function smoothed(grid: Float64Array, columns: number, rows: number, noise: Float64Array): Float64Array {
  const across = grid.slice();
  for (let j = 0; j < rows; j++) {
    for (let i = 2; i < columns - 2; i++) {
      const c = j * columns + i;
      across[c] = (17 * grid[c]! + 12 * (grid[c - 1]! + grid[c + 1]!) - 3 * (grid[c - 2]! + grid[c + 2]!)) / 35;
    }
  }
  const out = across.slice();
  for (let j = 2; j < rows - 2; j++) {
    for (let i = 0; i < columns; i++) {
      const c = j * columns + i;
      out[c] = (17 * across[c]! + 12 * (across[c - columns]! + across[c + columns]!)
        - 3 * (across[c - 2 * columns]! + across[c + 2 * columns]!)) / 35;
    }
  }
  for (let c = 0; c < out.length; c++) {
    const most = mostSmoothed * noise[c]!;
    out[c] = grid[c]! + Math.max(-most, Math.min(most, out[c]! - grid[c]!));
  }
  return out;
}

/** Value of a mesh at a pixel, bicubic (Catmull-Rom) between cell centres. */
export function meshAt(mesh: Background, grid: Float64Array, x: number, y: number): number {
  const row = cubic((y + 0.5) / mesh.cellHeight - 0.5, mesh.rows);
  const column = cubic((x + 0.5) / mesh.cellWidth - 0.5, mesh.columns);
  let sum = 0;
  for (let j = 0; j < 4; j++) {
    let line = 0;
    const start = row.cells[j]! * mesh.columns;
    for (let i = 0; i < 4; i++) line += column.weights[i]! * grid[start + column.cells[i]!]!;
    sum += row.weights[j]! * line;
  }
  return sum;
}

/** The sky's level at a pixel. */
export function skyAt(image: Picture, mesh: Background, x: number, y: number): number {
  return image.quick?.mesh === mesh ? image.quick.levelAt(x, y) : meshAt(mesh, mesh.level, x, y);
}

/** Change of the sky's level for one pixel along x and along y, units of the picture. */
export interface Slope {
  readonly x: number;
  readonly y: number;
}

export const noSlope: Slope = { x: 0, y: 0 };

/** The slope of the mesh's level at a pixel, over half a cell: if not removed, it would shift a faint star toward the brighter side. */
export function slopeAt(image: Picture, mesh: Background, x: number, y: number): Slope {
  const { cellWidth, cellHeight } = mesh;
  const dx = cellWidth / 4;
  const dy = cellHeight / 4;
  return {
    x: (skyAt(image, mesh, x + dx, y) - skyAt(image, mesh, x - dx, y)) / (2 * dx),
    y: (skyAt(image, mesh, x, y + dy) - skyAt(image, mesh, x, y - dy)) / (2 * dy),
  };
}

/** Values of a mesh along one row of pixels, at x = start, start + step, … into `out`. */
export function meshAlongRow(
  mesh: Background, grid: Float64Array, y: number, start: number, step: number, out: Float64Array,
): void {
  const { columns } = mesh;
  const row = cubic((y + 0.5) / mesh.cellHeight - 0.5, mesh.rows);
  const line = new Float64Array(columns);
  for (let j = 0; j < 4; j++) addRow(grid, row.cells[j]! * columns, row.weights[j]!, line);
  const n = out.length;
  const first = (start + 0.5) / mesh.cellWidth - 0.5;
  const stride = step / mesh.cellWidth;
  let k = 0;
  while (k < n) {
    const at = first + k * stride;
    const cell = Math.min(columns - 1, Math.max(-1, Math.floor(at)));
    // Pixels up to the next cell centre share one cubic.
    const end = cell >= columns - 1 ? n : Math.min(n, Math.max(k + 1, Math.ceil((cell + 1 - first) / stride)));
    const p0 = node(line, columns, cell - 1);
    const p1 = node(line, columns, cell);
    const p2 = node(line, columns, cell + 1);
    const p3 = node(line, columns, cell + 2);
    const c1 = (p2 - p0) / 2;
    const c2 = p0 - 2.5 * p1 + 2 * p2 - 0.5 * p3;
    const c3 = (p3 - p0) / 2 + 1.5 * (p1 - p2);
    fillCubic(out, k, end, at - cell, stride, p1, c1, c2, c3);
    k = end;
  }
}

function addRow(grid: Float64Array, first: number, weight: number, line: Float64Array): void {
  for (let i = 0; i < line.length; i++) line[i] = line[i]! + weight * grid[first + i]!;
}

function fillCubic(
  out: Float64Array, from: number, to: number, start: number, stride: number, p: number, c1: number, c2: number, c3: number,
): void {
  let t = start;
  for (let k = from; k < to; k++) {
    out[k] = p + t * (c1 + t * (c2 + t * c3));
    t += stride;
  }
}

/** A cell's value; beyond the border, extrapolated linearly from the outermost two. */
function node(line: Float64Array, n: number, i: number): number {
  if (i < 0) return n > 1 ? line[0]! + i * (line[1]! - line[0]!) : line[0]!;
  if (i >= n) return n > 1 ? line[n - 1]! + (i - n + 1) * (line[n - 1]! - line[n - 2]!) : line[0]!;
  return line[i]!;
}

/** Cells and Catmull-Rom weights for a place given in cells, extrapolated beyond the border as in {@link node}. */
function cubic(at: number, n: number): { cells: number[]; weights: number[] } {
  const i = Math.min(n - 1, Math.max(-1, Math.floor(at)));
  const t = at - i;
  const raw = [
    t * (-0.5 + t * (1 - 0.5 * t)),
    1 + t * t * (1.5 * t - 2.5),
    t * (0.5 + t * (2 - 1.5 * t)),
    t * t * (0.5 * t - 0.5),
  ];
  const cells: number[] = [];
  const weights = [0, 0, 0, 0];
  const first = Math.min(Math.max(i - 1, 0), Math.max(0, n - 4));
  for (let k = 0; k < 4; k++) cells.push(Math.min(first + k, n - 1));
  const add = (cell: number, weight: number): void => {
    weights[Math.min(cell - first, 3)]! += weight;
  };
  for (let k = 0; k < 4; k++) {
    const cell = i - 1 + k;
    const weight = raw[k]!;
    if (cell < 0) {
      if (n > 1) {
        add(0, weight * (1 - cell));
        add(1, weight * cell);
      } else add(0, weight);
    } else if (cell >= n) {
      const beyond = cell - n + 1;
      if (n > 1) {
        add(n - 1, weight * (1 + beyond));
        add(n - 2, -weight * beyond);
      } else add(0, weight);
    } else add(cell, weight);
  }
  return { cells, weights };
}

/** Noise of one pixel at a place, bilinear between cell centres, so that it stays positive. */
export function noiseAt(mesh: Background, x: number, y: number): number {
  const { columns, rows, noise } = mesh;
  const u = Math.min(columns - 1, Math.max(0, (x + 0.5) / mesh.cellWidth - 0.5));
  const v = Math.min(rows - 1, Math.max(0, (y + 0.5) / mesh.cellHeight - 0.5));
  const i = Math.min(Math.floor(u), Math.max(0, columns - 2));
  const j = Math.min(Math.floor(v), Math.max(0, rows - 2));
  const right = Math.min(i + 1, columns - 1);
  const under = Math.min(j + 1, rows - 1);
  const top = noise[j * columns + i]! * (1 - (u - i)) + noise[j * columns + right]! * (u - i);
  const bottom = noise[under * columns + i]! * (1 - (u - i)) + noise[under * columns + right]! * (u - i);
  return top * (1 - (v - j)) + bottom * (v - j);
}
