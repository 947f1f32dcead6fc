import fc from 'fast-check';
import { expect, test } from 'vitest';
import { notesFor } from '../../src/panel/page/tone.js';

test('the nearer, the higher, while outside the limit; never lower than a phone can sound', () => {
  fc.assert(fc.property(fc.double({ min: 1.0001, max: 60, noNaN: true }), fc.double({ min: 1.0001, max: 60, noNaN: true }), (a, b) => {
    const [near, far] = [Math.min(a, b), Math.max(a, b)];
    const [high] = notesFor(near, 1, false), [low] = notesFor(far, 1, false);
    expect(high!.hertz).toBeGreaterThanOrEqual(low!.hertz);
    expect(low!.hertz).toBeGreaterThanOrEqual(110);
  }));
});

test('a quarter of the distance is an octave', () => {
  expect(notesFor(4, 1, false)[0]!.hertz * 2).toBeCloseTo(notesFor(1.0000001, 1, false)[0]!.hertz, 3);
});

test('within the limit it is another sound: three rising notes instead of one', () => {
  expect(notesFor(1.01, 1, false)).toHaveLength(1);
  const within = notesFor(1, 1, false).map((n) => n.hertz);
  expect(within).toHaveLength(3);
  expect([...within].sort((a, b) => a - b)).toEqual(within);
});

test('trouble sounds low whatever the distance; nothing known is silent', () => {
  for (const arcmin of [null, 0.1, 50]) expect(Math.max(...notesFor(arcmin, 1, true).map((n) => n.hertz))).toBeLessThan(110);
  expect(notesFor(null, 1, false)).toEqual([]);
});
