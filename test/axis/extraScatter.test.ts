import { describe, expect, test } from 'vitest';
import { extraScatter, extraScatterOfFrame, withExtraScatter } from '../../src/axis/extraScatter.js';
import { measureAxis } from '../../src/axis/measureAxis.js';
import { collectSightings } from '../../src/axis/sightings.js';
import type { Lens } from '../../src/identify/lens.js';
import { LENS, WIDTH, HEIGHT, generator, seeNight } from './sightings.js';

const NIGHT = { altitudeErrorArcmin: 8, azimuthErrorArcmin: -5, turnsDeg: [0, 35, 70], stars: 400 };

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
      sum += extraScatter(sightings, fit, 12) / 10;
    }
    expect(Math.sqrt(sum)).toBeLessThan(0.04);
  });

  test('of one frame is found through mistaken stars', () => {
    const { normal } = generator(7);
    const sigma = new Float64Array(300).fill(0.03);
    const residuals = Float64Array.from(sigma, () => Math.hypot(0.1 * normal(), 0.1 * normal()));
    for (let k = 0; k < 6; k++) residuals[k] = 5;
    expect(Math.sqrt(extraScatterOfFrame(residuals, sigma))).toBeGreaterThan(0.08);
    expect(Math.sqrt(extraScatterOfFrame(residuals, sigma))).toBeLessThan(0.125);
  });

  test('adds to each sighting alike', () => {
    const { frames } = seeNight({ ...NIGHT, stars: 20 });
    const sightings = collectSightings(frames.map((f) => ({ stars: f.identification.stars, pole: [0, 0, 1] as const })));
    const { seen } = withExtraScatter(sightings, 0.04);
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
