import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { median } from '../../src/numeric/median.js';

describe('the median', () => {
  it('is the middle of an odd number, the mean of the middle two of an even one, zero of none', () => {
    expect(median([3, 1, 2])).toBe(2);
    expect(median([4, 1, 3, 2])).toBe(2.5);
    expect(median(Float64Array.of(7))).toBe(7);
    expect(median([])).toBe(0);
  });

  it('has as many values below as above, in whatever order they come, and leaves them alone', () => {
    fc.assert(fc.property(fc.array(fc.double({ noNaN: true, min: -1e6, max: 1e6 }), { minLength: 1 }), (values) => {
      const before = [...values];
      const middle = median(values);
      expect(values).toEqual(before);
      const below = values.filter((v) => v < middle).length, above = values.filter((v) => v > middle).length;
      expect(Math.max(below, above)).toBeLessThanOrEqual(values.length / 2);
    }));
  });
});
