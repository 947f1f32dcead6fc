import { describe, expect, it } from 'vitest';
import { CAUCHY } from '../../src/identify/cauchyLoss.js';

/** Mean over two-dimensional normal errors; chi-squared of two degrees of freedom has the density exp(-t/2)/2 (midpoint rule). */
function mean(of: (t: number) => number): number {
  const STEP = 1e-3;
  let sum = 0;
  for (let t = STEP / 2; t < 200; t += STEP) sum += (of(t) * Math.exp(-t / 2) * STEP) / 2;
  return sum;
}

describe('what the Cauchy loss does to normal errors', () => {
  const k = CAUCHY.scale ** 2;
  const weight = (t: number): number => 1 / (1 + t / k);

  it('is its mean cost', () => {
    expect(mean((t) => k * Math.log1p(t / k)) / mean((t) => t)).toBeCloseTo(CAUCHY.cost, 4);
  });

  it('and what is told against the weights given', () => {
    const slope = mean(weight) - mean((t) => t * weight(t) ** 2) / k;
    const square = mean((t) => t * weight(t) ** 2) / 2;
    expect(slope ** 2 / square / mean(weight)).toBeCloseTo(CAUCHY.told, 4);
  });
});
