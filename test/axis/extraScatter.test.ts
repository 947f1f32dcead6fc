import { describe, expect, test } from 'vitest';
import type { AxisFrame } from '../../src/axis/estimateMount.js';
import { type ExtraScatter, extraScatter, extraScatterOfFrame, withExtraScatter } from '../../src/axis/extraScatter.js';
import { measureAxis } from '../../src/axis/measureAxis.js';
import { type Sightings, collectSightings } from '../../src/axis/sightings.js';
import type { IdentifiedStar } from '../../src/identify/identifyFrame.js';
import type { Lens } from '../../src/identify/lens.js';
import { LENS, WIDTH, HEIGHT, generator, seeNight } from './sightings.js';

const NIGHT = { altitudeErrorArcmin: 8, azimuthErrorArcmin: -5, turnsDeg: [0, 35, 70], stars: 400 };

const PICTURE = { width: WIDTH, height: HEIGHT };

/** The extra scatter that is found where each star of each frame is moved further by something. */
function scatteredBy(
  frames: readonly AxisFrame[], move: (star: IdentifiedStar, frame: number, normal: () => number) => { x: number; y: number }, seed: number,
): { extra: ExtraScatter; sightings: Sightings } {
  const { normal } = generator(100 + seed);
  const moved = frames.map((f, i) => ({
    ...f, identification: { ...f.identification, stars: f.identification.stars.map((star) => {
      const { x, y } = move(star, i, normal);
      return { ...star, detection: { ...star.detection, x: star.detection.x + x, y: star.detection.y + y } };
    }) },
  }));
  const { fit } = measureAxis(moved, 'refracted');
  const sightings = collectSightings(moved.map((f) => ({ stars: f.identification.stars, pole: [0, 0, 1] as const })));
  return { extra: extraScatter(sightings, fit, 12, PICTURE, null), sightings };
}

describe('extra scatter', () => {
  test('is what the stars of a night are off beyond what their sigmas say, and shows in the sigma', () => {
    const sound = measureAxis(seeNight({ ...NIGHT, sigmaPixels: 0.05 }).frames, 'refracted');
    // Stars that sway by 0.2 px, said to be good to 0.05 px.
    const { frames } = seeNight({ ...NIGHT, sigmaPixels: Math.hypot(0.05, 0.2), statedSigmaPixels: 0.05 });
    const swaying = measureAxis(frames, 'refracted');
    expect(swaying.fit.axisCovariances[0]![0]).toBeGreaterThan(5 * sound.fit.axisCovariances[0]![0]);
    // It is in the weights, so that little is left to the variance factor.
    expect(swaying.fit.excess).toBeGreaterThan(0.7);
    expect(swaying.fit.excess).toBeLessThan(1.5);
  });

  test('is next to nothing where the sigmas are right', () => {
    const pole = [0, 0, 1] as const;
    let sum = 0;
    for (let seed = 1; seed <= 10; seed++) {
      const { frames } = seeNight({ ...NIGHT, sigmaPixels: 0.1, seed });
      const sightings = collectSightings(frames.map((f) => ({ stars: f.identification.stars, pole })));
      const { fit } = measureAxis(frames, 'refracted');
      sum += extraScatter(sightings, fit, 12, PICTURE, null).middle / 10;
    }
    expect(Math.sqrt(sum)).toBeLessThan(0.04);
  });

  test('of one frame is found through mistaken stars', () => {
    const { normal } = generator(7);
    const sigma = new Float64Array(300).fill(0.03);
    const residuals = Float64Array.from(sigma, () => Math.hypot(0.1 * normal(), 0.1 * normal()));
    for (let k = 0; k < 6; k++) residuals[k] = 5;
    expect(Math.sqrt(extraScatterOfFrame(residuals, sigma, null))).toBeGreaterThan(0.08);
    expect(Math.sqrt(extraScatterOfFrame(residuals, sigma, null))).toBeLessThan(0.125);
  });

  test('of few stars is about what is expected of the air, of many what they show', () => {
    const { normal } = generator(8);
    const found = (stars: number): number => {
      const sigma = new Float64Array(stars).fill(0.02);
      const residuals = Float64Array.from(sigma, () => Math.hypot(0.1 * normal(), 0.1 * normal()));
      return Math.sqrt(extraScatterOfFrame(residuals, sigma, 0.3 ** 2));
    };
    expect(found(2)).toBeGreaterThan(0.15);
    expect(found(2000)).toBeCloseTo(0.1, 2);
  });

  test('differs from frame to frame as one frame scatters more than the others, and not where all are alike', () => {
    const factorsOf = (scatterOf: (frame: number) => number): number[] => {
      const sums = [0, 0, 0];
      for (let seed = 1; seed <= 5; seed++) {
        const { frames } = seeNight({ ...NIGHT, sigmaPixels: 0.05, seed });
        const { extra } = scatteredBy(
          frames, (_, frame, normal) => ({ x: scatterOf(frame) * normal(), y: scatterOf(frame) * normal() }), seed,
        );
        expect(extra.corner).toBe(0);
        extra.frames.forEach((f, i) => { sums[i]! += f / 5; });
      }
      return sums;
    };
    // A star's residuals share what one of its frames is off: the factors are nearer to each other than the variances, 9 to 1.
    const [before, worse, after] = factorsOf((frame) => (frame === 1 ? 0.3 : 0.1)) as [number, number, number];
    expect(worse).toBeGreaterThan(2.5 * before);
    expect(worse).toBeGreaterThan(2.5 * after);
    for (const factor of factorsOf(() => 0.2)) expect(Math.abs(factor - 1)).toBeLessThan(0.2);
  });

  test('grows outward where the stars show it', () => {
    const { frames } = seeNight({ ...NIGHT, stars: 1500, sigmaPixels: 0.05 });
    const outward = (star: IdentifiedStar): number => Math.hypot(star.detection.x - WIDTH / 2, star.detection.y - HEIGHT / 2) / 750;
    const { extra, sightings } = scatteredBy(frames, (star, _, normal) => {
      const s = 0.3 * outward(star);
      return { x: s * normal(), y: s * normal() };
    }, 3);
    expect(Math.sqrt(extra.corner)).toBeGreaterThan(0.24);
    expect(Math.sqrt(extra.corner)).toBeLessThan(0.36);
    expect(Math.sqrt(extra.middle)).toBeLessThan(0.06);
    const { seen } = withExtraScatter(sightings, { ...extra, frames: [1, 1, 1] }, PICTURE);
    const added = Array.from({ length: sightings.count }, (_, n) => seen[3 * n + 2]! - sightings.seen[3 * n + 2]!);
    expect(Math.max(...added)).toBeGreaterThan(0.6 * extra.corner);
    expect(Math.min(...added)).toBeLessThan(0.1 * extra.corner);
  });

  test('adds to each sighting alike', () => {
    const { frames } = seeNight({ ...NIGHT, stars: 20 });
    const sightings = collectSightings(frames.map((f) => ({ stars: f.identification.stars, pole: [0, 0, 1] as const })));
    const { seen } = withExtraScatter(sightings, { middle: 0.04, corner: 0, frames: [1, 1, 1] }, PICTURE);
    for (let n = 0; n < sightings.count; n++) expect(seen[3 * n + 2]).toBeCloseTo(sightings.seen[3 * n + 2]! + 0.04, 12);
  });
});

test('a lens with an element off its axis is found from the rotation, and the axis with it', () => {
  const lens: Lens = { ...LENS, focalPixels: 2800, radial: [-0.05], tangential: [3e-4, -2e-4] };
  const { frames } = seeNight({ ...NIGHT, lens, stars: 800, sigmaPixels: 0.05 });
  const { radial, focalPixels, mirrored } = lens;
  const straight: Lens = { radial, focalPixels, mirrored, centreX: (WIDTH - 1) / 2, centreY: (HEIGHT - 1) / 2 };
  const m = measureAxis(frames.map((f) => ({ ...f, identification: { ...f.identification, lens: straight } })), 'true');
  expect(m.lens.tangential![0]).toBeCloseTo(3e-4, 4);
  expect(m.lens.tangential![1]).toBeCloseTo(-2e-4, 4);
  expect(Math.abs(m.fromTruePole.altitude * 3437.747 - 8) * 60).toBeLessThan(1.5);
});
