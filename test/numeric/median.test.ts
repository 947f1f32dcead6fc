import fc from 'fast-check';
import { expect, test } from 'vitest';
import { median } from '../../src/numeric/median.js';

test('the middle of an odd count, the mean of the middle two of an even one, 0 of none', () => {
  expect(median([3, 1, 2])).toBe(2);
  expect(median([4, 1, 3, 2])).toBe(2.5);
  expect(median([])).toBe(0);
});

test('as many numbers lie below it as above, whatever their order, and they stay as they are', () => {
  fc.assert(fc.property(fc.array(fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e9, max: 1e9 }), { minLength: 1 }), (values) => {
    const before = [...values];
    const middle = median(values);
    expect(values).toEqual(before);
    expect(2 * values.filter((v) => v < middle).length).toBeLessThanOrEqual(values.length);
    expect(2 * values.filter((v) => v > middle).length).toBeLessThanOrEqual(values.length);
    expect(median([...values].reverse())).toBe(middle);
  }));
});
