import type { Image, PixelArray } from '../frames/frame.js';

/** Sums over blocks of a row, or values computed from them. */
export type Row = Float64Array | Int32Array;

/** Columns of a smoothed row that are above the limit. */
export interface Hits {
  count: number;
  readonly columns: Int32Array;
}

/** The limit is computed at every so many rows of blocks; between them it is interpolated linearly. */
export const ROWS_PER_LIMIT = 4;

/**
 * A picture processed row of blocks by row of blocks. From the last three, each smoothed by (1 2 1) along itself, comes a row of the
 * smoothed picture, as its height above the limit; the last three of those are kept.
 */
export interface BlockRows {
  /** Adds row j of blocks; after the last one, that one is added again. */
  take(j: number): void;
  /** The limit of the smoothed picture `ROWS_PER_LIMIT` rows further. The first call gives that of the first row. */
  limitAhead(limit: Float64Array): void;
  /** Computes the smoothed row from the three, `row` rows after the limit before last. */
  smooth(row: number): void;
  /** Sets a row below all others. */
  close(): void;
  /** The last three smoothed rows, and the columns of the middle one above the limit. */
  readonly above: Row;
  readonly here: Row;
  readonly below: Row;
  readonly hits: Hits;
}

/** For pixels of any type and blocks of any size. `blank`: a sum that never starts a star, for blocks without a usable pixel. */
export function plainBlockRows({ width, height, data }: Image, block: number, blank: number): BlockRows {
  const columns = Math.floor(width / block);
  const rows = Math.floor(height / block);
  const makeRow = (): Float64Array => new Float64Array(columns);
  const line = makeRow();
  const limits = [makeRow(), makeRow()];
  const three = [makeRow(), makeRow(), makeRow()];
  const smoothed = [makeRow().fill(-1), makeRow().fill(-1), makeRow().fill(-1)];
  const hits: Hits[] = [{ count: 0, columns: new Int32Array(columns) }, { count: 0, columns: new Int32Array(columns) }];
  const mayBeBlank = data instanceof Float32Array || data instanceof Float64Array;
  return {
    take(j) {
      three.push(three.shift()!);
      const [, before, newest] = three as [Float64Array, Float64Array, Float64Array];
      if (j >= rows) {
        newest.set(before);
        return;
      }
      const start = j * block * width;
      sumBlocks(data, start, width, block, line);
      if (mayBeBlank && !allFinite(line)) patchBlanks(data, start, width, block, line, blank);
      smoothAcross(line, newest);
      if (j === 0) before.set(newest);
    },
    limitAhead(limit) {
      limits.reverse();
      limits[1]!.set(limit);
    },
    smooth(row) {
      smoothed.push(smoothed.shift()!);
      hits.reverse();
      excess(three[0]!, three[1]!, three[2]!, limits[0]!, limits[1]!, row / ROWS_PER_LIMIT, smoothed[2]!, hits[1]!);
    },
    close() {
      smoothed.push(smoothed.shift()!);
      hits.reverse();
      smoothed[2]!.fill(-1);
      hits[1]!.count = 0;
    },
    get above() { return smoothed[0]!; },
    get here() { return smoothed[1]!; },
    get below() { return smoothed[2]!; },
    get hits() { return hits[0]!; },
  };
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

/** Blank pixels get the mean of the others in their block, blank blocks a level that never starts a star. */
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

/** Height of a smoothed row above its limit, which lies `share` of the way from `limits` to `next`, and where that is positive. */
function excess(
  a: Float64Array, b: Float64Array, c: Float64Array, limits: Float64Array, next: Float64Array, share: number,
  out: Float64Array, hits: Hits,
): void {
  const { columns } = hits;
  let n = 0;
  for (let i = 0; i < out.length; i++) {
    const v = a[i]! + 2 * b[i]! + c[i]! - limits[i]! - share * (next[i]! - limits[i]!);
    out[i] = v;
    if (v > 0) columns[n++] = i;
  }
  hits.count = n;
}
