import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fillGaps } from '../../src/stars/fillGaps.js';
import { countingReads } from '../countingReads.js';

/** The definition, slowly: round by round over the whole grid, each gap from what stood around it before the round. */
function filledByRounds(grid: readonly number[], columns: number, rows: number): number[] {
  let now = [...grid];
  while (now.some(Number.isNaN) && now.some((value) => !Number.isNaN(value))) {
    now = now.map((value, c) => {
      if (!Number.isNaN(value)) return value;
      const [i, j] = [c % columns, Math.floor(c / columns)];
      const near = now.filter((other, k) => Math.abs((k % columns) - i) <= 1 && Math.abs(Math.floor(k / columns) - j) <= 1
        && !Number.isNaN(other));
      return near.length === 0 ? NaN : near.reduce((a, b) => a + b) / near.length;
    });
  }
  expect(now.length).toBe(columns * rows);
  return now;
}

describe('gaps of a grid', () => {
  it('are filled from their rims inward', () => {
    const side = fc.integer({ min: 1, max: 7 });
    const values = fc.infiniteStream(fc.option(fc.integer({ min: 0, max: 99 }), { nil: NaN, freq: 1 }));
    fc.assert(fc.property(side, side, values, (columns, rows, values) => {
      const grid = Float64Array.from({ length: columns * rows }, () => values.next().value ?? NaN);
      const expected = filledByRounds([...grid], columns, rows);
      fillGaps(grid, columns, rows);
      grid.forEach((value, c) => {
        if (Number.isNaN(expected[c]!)) expect(value).toBeNaN();
        else expect(value).toBeCloseTo(expected[c]!, 9);
      });
    }));
  });
  it('twice as long take twice the work, also in a grid one cell wide', () => {
    const reads = (rows: number): number => {
      const counted = countingReads(new Float64Array(rows).fill(NaN).fill(1000, 0, 2));
      fillGaps(counted.array, 1, rows);
      return counted.reads();
    };
    expect(reads(2000) / reads(1000)).toBeLessThan(2.1);
  });
});
