import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { playTurns } from '../../src/knobs/playedTurns.js';
import { makeRandom } from '../../src/simulate/random.js';

describe('play', () => {
  it('is lost on reversing and only then', () => {
    expect(playTurns([1, 1], 0.2, 0).turns).toBeCloseTo(2, 12);
    expect(playTurns([1, -1], 0.2, 0)).toMatchObject({ turns: expect.closeTo(0.2, 12), ahead: 0.2 });
  });
  it('does not matter to past the goal and back that ends where it was taken up', () => {
    fc.assert(fc.property(fc.double({ min: 0, max: 0.5, noNaN: true }), fc.double({ min: 0, max: 5, noNaN: true }), (play, net) => {
      const past = play + 0.01;
      expect(playTurns([-net - past, past], play, 0).turns).toBeCloseTo(-net, 9);
    }), { numRuns: 200 });
  });
  it('swallows a turn shorter than itself', () => {
    expect(playTurns([-0.1], 0.2, 0)).toEqual({ turns: 0, variance: 0, ahead: 0.1 });
  });
  it('from anywhere in it loses half of it on average, with the variance of an even spread', () => {
    const { turns, variance, ahead } = playTurns([1], 0.3, null);
    expect(turns).toBeCloseTo(0.85, 12);
    expect(variance).toBeCloseTo(0.3 ** 2 / 12, 12);
    expect(ahead).toBe(0);
  });
  it('gives mean and variance of a short first turn as a lottery over its places does', () => {
    const random = makeRandom('play');
    const drawn = Array.from({ length: 20_000 }, () => playTurns([0.1], 0.3, 0.3 * random.uniform()).turns);
    const mean = drawn.reduce((a, b) => a + b, 0) / drawn.length;
    const variance = drawn.reduce((a, b) => a + (b - mean) ** 2, 0) / drawn.length;
    const told = playTurns([0.1], 0.3, null);
    expect(told.turns).toBeCloseTo(mean, 3);
    expect(told.variance).toBeCloseTo(variance, 4);
  });
});
