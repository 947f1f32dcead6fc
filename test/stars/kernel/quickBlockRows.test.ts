import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BlockRows, ROWS_PER_LIMIT, plainBlockRows } from '../../../src/stars/blockRows.js';
import { blockRowsKernel } from '../../../src/stars/kernel/blockRowsKernel.js';
import { quickBlockRows } from '../../../src/stars/kernel/quickBlockRows.js';

/** All smoothed rows of a picture and the columns that stand out in them, the limit a plane through whole numbers. */
function walk(
  pass: BlockRows, columns: number, rows: number, limit: (i: number, j: number) => number,
): { values: number[][]; hits: number[][] } {
  const line = new Float64Array(columns);
  const ahead = (j: number): void => pass.limitAhead(line.map((_, i) => limit(i, j)));
  const values: number[][] = [];
  const hits: number[][] = [];
  ahead(0);
  pass.take(0);
  for (let r = 0; r < rows; r++) {
    pass.take(r + 1);
    if (r % ROWS_PER_LIMIT === 0) ahead(r + ROWS_PER_LIMIT);
    pass.smooth(r % ROWS_PER_LIMIT);
    values.push([...pass.below.subarray(0, columns)]);
    if (r > 0) hits.push([...pass.hits.columns.subarray(0, pass.hits.count)]);
  }
  pass.close();
  hits.push([...pass.hits.columns.subarray(0, pass.hits.count)]);
  return { values, hits };
}

const picture = fc.record({
  width: fc.integer({ min: 2, max: 61 }), height: fc.integer({ min: 2, max: 23 }), seed: fc.integer(), signed: fc.boolean(),
  slope: fc.integer({ min: -40, max: 40 }),
});

function pixels(count: number, seed: number, signed: boolean): Uint16Array | Int16Array {
  const out = signed ? new Int16Array(count) : new Uint16Array(count);
  let state = seed >>> 0;
  for (let k = 0; k < count; k++) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    out[k] = state >>> 16;
  }
  return out;
}

describe('rows of blocks in the kernel', () => {
  it('runs on this machine', () => {
    expect(blockRowsKernel()).not.toBeNull();
  });

  it('gives the plain code\'s rows and hits, to the last whole number, for any size and all 16-bit values', () => {
    fc.assert(fc.property(picture, ({ width, height, seed, signed, slope }) => {
      const image = { width, height, data: pixels(width * height, seed, signed), ceiling: null };
      const columns = width >> 1;
      const rows = height >> 1;
      const limit = (i: number, j: number): number => (signed ? 0 : 524_288) + 4 * slope * j + 7 * i;
      const quick = walk(quickBlockRows(image, 2, 100)!, columns, rows, limit);
      const plain = walk(plainBlockRows(image, 2, 0), columns, rows, limit);
      expect(quick).toEqual(plain);
      expect(plain.hits.length).toBe(rows);
    }));
  });

  it('leaves to the plain code pictures for which 16-bit whole numbers are too coarse or too small', () => {
    const data = new Uint16Array(64);
    const image = { width: 8, height: 8, data, ceiling: null };
    expect(quickBlockRows(image, 2, 100)).not.toBeNull();
    expect(quickBlockRows(image, 4, 100)).toBeNull();
    expect(quickBlockRows(image, 2, 0.5)).toBeNull();
    expect(quickBlockRows({ ...image, data: new Float32Array(64) }, 2, 100)).toBeNull();
    expect(quickBlockRows({ ...image, data: new Int32Array(64) }, 2, 100)).toBeNull();
  });
});
