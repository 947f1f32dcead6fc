import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { apply, axisAndAngle, compose, fromRotationVector, inverse } from '../../src/geometry/rotation.js';
import { type Vector, angleBetween } from '../../src/geometry/vector.js';
import { type Matches, fitPose } from '../../src/identify/fitPose.js';
import { type Lens, toDirection } from '../../src/identify/lens.js';
import { makeRandom } from '../../src/simulate/random.js';
import { randomPose } from './simulatedField.js';

const WIDTH = 1200, HEIGHT = 900;

interface Night {
  readonly matches: Matches;
  readonly lens: Lens;
  readonly pose: ReturnType<typeof randomPose>;
  readonly start: ReturnType<typeof randomPose>;
}

/** Stars all over a picture, seen with the errors they say, and a pose that is a few pixels off. */
function night(seed: number, count: number, fieldDeg: number, radial: readonly number[], noise = 1): Night {
  const random = makeRandom(`fit ${seed}`);
  const focalPixels = WIDTH / 2 / Math.tan((fieldDeg / 2) * DEGREE);
  const lens: Lens = { focalPixels, centreX: (WIDTH - 1) / 2, centreY: (HEIGHT - 1) / 2, radial, mirrored: random.uniform() < 0.5 };
  const pose = randomPose([0, 0, 1], 1, random);
  const directions = new Float64Array(3 * count), x = new Float64Array(count), y = new Float64Array(count), sigma = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const px = WIDTH * random.uniform(), py = HEIGHT * random.uniform();
    directions.set(apply(pose, toDirection(lens, px, py)), 3 * i);
    sigma[i] = 0.05 + 0.3 * random.uniform();
    x[i] = px + noise * sigma[i]! * random.normal();
    y[i] = py + noise * sigma[i]! * random.normal();
  }
  const off: Vector = [random.normal(), random.normal(), random.normal()];
  const start = compose(pose, fromRotationVector([5 * off[0] / focalPixels, 5 * off[1] / focalPixels, 0.003 * off[2]]));
  return { matches: { count, directions, x, y, sigma }, lens, pose, start };
}

function chiSquared(residuals: Float64Array, sigma: Float64Array): number {
  return residuals.reduce((sum, r, i) => sum + (r / sigma[i]!) ** 2, 0);
}

describe('pose fit', () => {
  it('finds pose and focal length to rounding from perfect stars', () => {
    fc.assert(fc.property(fc.nat(), fc.double({ min: 1, max: 50, noNaN: true }), (seed, fieldDeg) => {
      const { matches, lens, pose, start } = night(seed, 12, fieldDeg, [], 0);
      const longer = { ...lens, focalPixels: lens.focalPixels * 1.01 };
      const fit = fitPose(matches, start, longer, { focal: true, radialTerms: 0, iterations: 12 })!;
      expect(axisAndAngle(compose(inverse(pose), fit.pose)).angle).toBeLessThan(1e-4 * ARCSECOND * fieldDeg);
      expect(fit.lens.focalPixels / lens.focalPixels).toBeCloseTo(1, 9);
      expect(fit.rms).toBeLessThan(1e-5);
    }), { numRuns: 50 });
  });

  it('finds two radial terms and the principal point', () => {
    const { matches, lens, start } = night(5, 60, 40, [-0.08, 0.03], 0);
    const begin: Lens = { ...lens, radial: [], centreX: lens.centreX + 3, centreY: lens.centreY - 4, focalPixels: lens.focalPixels * 0.98 };
    const fit = fitPose(matches, start, begin, { focal: true, radialTerms: 2, centre: true, iterations: 20 })!;
    expect(fit.lens.radial[0]).toBeCloseTo(-0.08, 6);
    expect(fit.lens.radial[1]).toBeCloseTo(0.03, 6);
    expect(fit.lens.centreX).toBeCloseTo(lens.centreX, 4);
    expect(fit.lens.centreY).toBeCloseTo(lens.centreY, 4);
  });

  it('leaves chi-squared as large as the degrees of freedom allow', () => {
    // 40 stars, 4 unknowns: 76 degrees of freedom a night, standard deviation √(2·76) = 12.3; mean of 60 nights ± 1.6.
    const nights = 60;
    let sum = 0;
    for (let seed = 0; seed < nights; seed++) {
      const { matches, lens, start } = night(seed, 40, 5, []);
      sum += chiSquared(fitPose(matches, start, lens, { focal: true, radialTerms: 0 })!.residuals, matches.sigma);
    }
    expect(Math.abs(sum / nights - 76)).toBeLessThan(4 * 1.6);
  });

  it('asked to be robust, is not moved by one wrong star in ten', () => {
    const { matches, lens, pose, start } = night(3, 40, 5, []);
    for (let i = 0; i < 4; i++) matches.x[i]! += 6;
    const z: Vector = [0, 0, 1];
    const across = (found: typeof pose): number => angleBetween(apply(found, z), apply(pose, z)) * lens.focalPixels;
    const angle = (robust: number): number =>
      across(fitPose(matches, start, lens, { focal: true, radialTerms: 0, robust, iterations: 20 })!.pose);
    // All four are off to the same side: they drag a plain fit by 6/10 of a pixel and roll it.
    expect(angle(3)).toBeLessThan(0.5 * angle(Infinity));
  });

  it('refuses fewer stars than unknowns', () => {
    const { matches, lens, start } = night(1, 2, 5, []);
    const one: Matches = { ...matches, count: 1 };
    expect(fitPose(one, start, lens, { focal: false, radialTerms: 0 })).toBeNull();
    expect(fitPose(matches, start, lens, { focal: true, radialTerms: 1 })).toBeNull();
    expect(fitPose(matches, start, lens, { focal: true, radialTerms: 0 })).not.toBeNull();
  });
});
