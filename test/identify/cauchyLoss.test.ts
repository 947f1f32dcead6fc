import { describe, expect, it } from 'vitest';
import { CAUCHY, cauchyCost, toldByWeight } from '../../src/identify/cauchyLoss.js';

/**
 * Mean over two-dimensional normal errors of `variance`; chi-squared of two degrees of freedom has the density exp(-t/2)/2
 * (midpoint rule).
 */
function mean(variance: number, of: (t: number) => number): number {
  const STEP = 1e-3;
  let sum = 0;
  for (let t = STEP / 2; t < 200; t += STEP) sum += (of(variance * t) * Math.exp(-t / 2) * STEP) / 2;
  return sum;
}

describe.each([0.02, 0.2, 0.5, 0.8, 1])('the Cauchy loss of normal errors of variance %s', (variance) => {
  const k = CAUCHY.scale ** 2;
  const weight = (t: number): number => 1 / (1 + t / k);

  it('costs on average what cauchyCost says', () => {
    expect(Math.abs(mean(variance, (t) => k * Math.log1p(t / k)) / 2 / cauchyCost(variance) - 1)).toBeLessThan(0.007);
  });

  it('keeps as much information, compared with the sum of the weights, as toldByWeight says', () => {
    const slope = mean(variance, weight) - mean(variance, (t) => t * weight(t) ** 2) / k;
    const square = mean(variance, (t) => t * weight(t) ** 2) / 2 / variance;
    expect(Math.abs(slope ** 2 / square / mean(variance, weight) / toldByWeight(variance) - 1)).toBeLessThan(0.012);
  });
});
