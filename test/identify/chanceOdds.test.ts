import { describe, expect, it } from 'vitest';
import { ACCEPTED_ODDS, type Freedom, logChoices, logLikelihoodRatio } from '../../src/identify/chanceOdds.js';
import { makeRandom } from '../../src/simulate/random.js';

const WIDTH = 800, HEIGHT = 600;

function ratio(detections: number, predicted: number, distances: number[], sigma = 0.5): number {
  return logLikelihoodRatio({ detections, predicted, distances, sigma, width: WIDTH, height: HEIGHT });
}

describe('odds against chance', () => {
  it('are on average no more than one for detections scattered at random', () => {
    // A likelihood ratio's mean under the hypothesis in its denominator is 1; matching each spot with one star only lowers it.
    const random = makeRandom('chance');
    const stars = 8, spots = 6, sigma = 25, runs = 20_000;
    let mean = 0;
    for (let run = 0; run < runs; run++) {
      const places = Array.from({ length: stars }, () => [WIDTH * random.uniform(), HEIGHT * random.uniform()] as const);
      const distances: number[] = [];
      for (let s = 0; s < spots; s++) {
        const x = WIDTH * random.uniform(), y = HEIGHT * random.uniform();
        const nearest = Math.min(...places.map(([px, py]) => Math.hypot(x - px, y - py)));
        if (nearest < 4 * sigma) distances.push(nearest);
      }
      mean += Math.exp(ratio(spots, stars, distances, sigma)) / runs;
    }
    expect(mean).toBeGreaterThan(0.5);
    expect(mean).toBeLessThan(1.05);
  });

  it('rise with every close pair, and fall with every detection left over', () => {
    const five = ratio(10, 12, [0.2, 0.3, 0.4, 0.5, 0.6]);
    expect(ratio(10, 12, [0.2, 0.3, 0.4, 0.5, 0.6, 0.3])).toBeGreaterThan(five + 5);
    expect(ratio(20, 12, [0.2, 0.3, 0.4, 0.5, 0.6])).toBeLessThan(five);
    expect(ratio(10, 12, [0.2, 0.3, 0.4, 0.5, 3])).toBeLessThan(five);
  });

  it('are none without stars or without detections', () => {
    expect(ratio(0, 5, [])).toBe(-Infinity);
    expect(ratio(5, 0, [])).toBe(-Infinity);
  });

  it('fall with every choice that the search had', () => {
    const known: Freedom = { solidAngle: 0.01, focalPixels: 5000, logFocalRange: 0, mirrorKnown: true, radialTerms: 0 };
    const price = (more: Partial<Freedom>): number =>
      logChoices({ ...known, ...more }, WIDTH, HEIGHT, 0.5) - logChoices(known, WIDTH, HEIGHT, 0.5);
    expect(price({ mirrorKnown: false })).toBeCloseTo(Math.LN2, 12);
    expect(price({ solidAngle: 0.1 })).toBeCloseTo(Math.log(10), 12);
    // Scales that can be told apart: a change that moves stars half-way out (250 px) by one step of 1.25 px.
    expect(price({ logFocalRange: 5 })).toBeCloseTo(Math.log((5 * 250) / (0.5 * Math.sqrt(2 * Math.PI))), 12);
    expect(price({ radialTerms: 1 })).toBeGreaterThan(3);
  });

  it('refuse five matched stars among many detections, and accept ten of ten', () => {
    const free = { solidAngle: 0.14, focalPixels: 35_000, logFocalRange: 5.2, mirrorKnown: false, radialTerms: 0 };
    const choices = logChoices(free, WIDTH, HEIGHT, 0.35);
    expect(ratio(20, 20, [0.2, 0.3, 0.3, 0.4, 0.5], 0.35) - choices).toBeLessThan(Math.log(ACCEPTED_ODDS));
    expect(ratio(10, 10, Array<number>(10).fill(0.4), 0.35) - choices).toBeGreaterThan(Math.log(ACCEPTED_ODDS));
  });
});
