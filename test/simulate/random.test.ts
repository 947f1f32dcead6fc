import { describe, expect, it } from 'vitest';
import { makeRandom } from '../../src/simulate/random.js';

const COUNT = 1_000_000;

describe('makeRandom', () => {
  it('gives the same stream for the same seed and another for another', () => {
    const draw = (seed: string): number[] => Array.from({ length: 8 }, makeRandom(seed).uniform);
    expect(draw('a')).toEqual(draw('a'));
    expect(draw('a')).not.toEqual(draw('b'));
  });

  it('gives a named stream that does not depend on what was drawn before', () => {
    const used = makeRandom(5);
    for (let i = 0; i < 100; i++) used.normal();
    expect(used.stream('noise').uniform()).toBe(makeRandom(5).stream('noise').uniform());
  });

  it('draws uniform numbers evenly', () => {
    const { uniform } = makeRandom(2);
    const bins = new Int32Array(100);
    for (let i = 0; i < COUNT; i++) bins[Math.floor(uniform() * 100)]!++;
    const chi2 = bins.reduce((sum, n) => sum + (n - COUNT / 100) ** 2 / (COUNT / 100), 0);
    // 99 degrees of freedom: mean 99, sigma 14.
    expect(chi2).toBeGreaterThan(50);
    expect(chi2).toBeLessThan(160);
  });

  it('draws normal numbers with the moments and tails of the normal distribution', () => {
    const { normal } = makeRandom(3);
    const moments = [0, 0, 0, 0];
    let beyond2 = 0;
    let beyondTail = 0;
    for (let i = 0; i < COUNT; i++) {
      const z = normal();
      for (let k = 0; k < 4; k++) moments[k]! += z ** (k + 1) / COUNT;
      if (Math.abs(z) > 2) beyond2++;
      // Where the ziggurat's last layer ends.
      if (Math.abs(z) > 3.5) beyondTail++;
    }
    expect(moments[0]).toBeCloseTo(0, 2);
    expect(moments[1]).toBeCloseTo(1, 2);
    expect(Math.abs(moments[2]!)).toBeLessThan(0.015);
    expect(Math.abs(moments[3]! - 3)).toBeLessThan(0.04);
    // Normal tables: 4.550 % beyond 2, 0.04653 % beyond 3.5; five sigma of the count.
    expect(Math.abs(beyond2 / COUNT - 0.0455)).toBeLessThan(0.0011);
    expect(Math.abs(beyondTail / COUNT - 0.0004653)).toBeLessThan(0.00011);
  });

  it.each([0.3, 4, 29, 31, 500])('draws Poisson numbers of mean %d with equal mean and variance and the right skewness', (mean) => {
    const { poisson } = makeRandom(mean);
    const n = 300_000;
    const draws = Float64Array.from({ length: n }, () => poisson(mean));
    const average = draws.reduce((a, b) => a + b, 0) / n;
    const variance = draws.reduce((a, b) => a + (b - average) ** 2, 0) / n;
    const third = draws.reduce((a, b) => a + (b - average) ** 3, 0) / n;
    expect(Math.abs(average - mean)).toBeLessThan(5 * Math.sqrt(mean / n));
    // The variance of the variance of a Poisson number is mean·(1 + 2·mean); a rounded normal adds 1/12.
    expect(Math.abs(variance - mean)).toBeLessThan(5 * Math.sqrt((mean * (1 + 2 * mean)) / n) + (mean > 30 ? 1 / 12 : 0) + 0.06);
    expect(Math.abs(third / mean ** 1.5 - 1 / Math.sqrt(mean))).toBeLessThan(0.03);
  });
});
