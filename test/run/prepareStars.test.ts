/** The forecast of stars against frames of the simulator, looked through by the star detection. */
import { describe, expect, test } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { suggestExposure, usualFwhm } from '../../src/run/prepareExposure.js';
import { fieldSize } from '../../src/run/prepareField.js';
import { type StarCamera, faintestFound, forecastStars, starSignals, starsNear } from '../../src/run/prepareStars.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { skylight, starlight } from '../../src/sky/starlight.js';
import { detectStars } from '../../src/stars/detectStars.js';
import { catalogue } from '../simulate/catalogue.js';

const TIME = new Date('2026-11-25T20:00:00Z');
/** Invented optics, each deep enough for some dozens of stars and not deeper than the catalogue. */
const CASES: readonly (readonly [string, number, number, StarCamera])[] = [
  [
    'guide scope, city', 39.2, 1,
    {
      focalLengthMillimetres: 180, pixelSizeMicrometres: 4.8, apertureMillimetres: 30, width: 1280, height: 960, skyMagnitude: 18.5,
      readNoiseElectrons: 3, fwhmPixels: 2.4,
    },
  ],
  [
    'guide scope, south', -35, 0.5,
    {
      focalLengthMillimetres: 180, pixelSizeMicrometres: 3.75, apertureMillimetres: 40, width: 1600, height: 1200, skyMagnitude: 19,
      readNoiseElectrons: 3, fwhmPixels: 3,
    },
  ],
  [
    'finder, noisy', 60, 1,
    {
      focalLengthMillimetres: 120, pixelSizeMicrometres: 4.8, apertureMillimetres: 25, width: 1280, height: 960, skyMagnitude: 20,
      readNoiseElectrons: 6, fwhmPixels: 2,
    },
  ],
  [
    'lens', 39, 0.4,
    {
      focalLengthMillimetres: 50, pixelSizeMicrometres: 12, apertureMillimetres: 10, width: 900, height: 700, skyMagnitude: 20,
      readNoiseElectrons: 5, fwhmPixels: 2.5,
    },
  ],
];

describe.each(CASES)('%s', (_, latitudeDeg, exposureSeconds, camera) => {
  const site = makeSite({ latitudeDeg, longitudeDeg: -3.4 });
  const sky = makeLocalSky(TIME, site);
  const near = starsNear(
    catalogue, sky.fromLocal(sky.refractedPole(latitudeDeg < 0 ? -1 : 1)), (fieldSize(camera).diagonalDeg / 2 + 0.5) * DEGREE,
  );
  const light = starlight(camera.apertureMillimetres);
  const frames = [1, 2, 3].map((seed) => renderFrame(planNight({
    ...ordinaryNight(site, TIME), exposureSeconds, seed, rotationsDeg: [0], rollDeg: 40 * seed, pointingOffsetDeg: 0, tracking: true,
    focalLengthMillimetres: camera.focalLengthMillimetres, pixelSizeMicrometres: camera.pixelSizeMicrometres, width: camera.width,
    height: camera.height,
    fwhmPixels: camera.fwhmPixels, electronsAtMagnitude0: light, readNoise: camera.readNoiseElectrons, fullWell: 1e6,
    skyElectrons: skylight(camera.skyMagnitude, light, exposureSeconds, fieldSize(camera).arcsecPerPixel),
    vignetting: 0, hotPixelsPerMillion: 0, uncataloguedDensity: 0,
  }, catalogue), 0));
  const found = frames.map(({ image }) => detectStars(image, { limit: 3000 }).stars);

  test('shows as many stars as forecast, within 10 % and three stars', () => {
    const forecast = forecastStars(camera, exposureSeconds, near).stars;
    const mean = found.reduce((sum, stars) => sum + stars.length / found.length, 0);
    expect(forecast).toBeGreaterThan(25);
    expect(Math.abs(mean - forecast)).toBeLessThan(0.1 * forecast + 3);
  });

  test('gives the forecast error of the centroids, in the median within 20 %', () => {
    const signal = starSignals(camera, exposureSeconds);
    // The simulator's air does not move stars against each other: what the forecast adds for that is what a star without noise has left.
    const wander = signal(-20).sigma;
    const ratios = frames.flatMap(({ truth: { stars } }, f) => found[f]!.flatMap((star) => {
      if (star.blended || star.saturated) return [];
      let best = -1;
      let nearest = 1;
      for (let i = 0; i < stars.count; i++) {
        const away = Math.hypot(stars.x[i]! - star.x, stars.y[i]! - star.y);
        if (away < nearest) [best, nearest] = [i, away];
      }
      if (best < 0) return [];
      const { sigma } = signal(2.5 * Math.log10((light * exposureSeconds) / stars.electrons[best]!));
      return sigma > 1.2 * wander ? [star.sigma / Math.sqrt(sigma ** 2 - wander ** 2)] : [];
    })).sort((a, b) => a - b);
    expect(ratios.length).toBeGreaterThan(20);
    const median = ratios[ratios.length >> 1]!;
    expect(median).toBeGreaterThan(0.8);
    expect(median).toBeLessThan(1.2);
  });
});

describe('depth', () => {
  const camera = CASES[0]![3];
  test('grows by 1.25 magnitudes for ten times the exposure where the sky rules', () => {
    const city = { ...camera, skyMagnitude: 16, readNoiseElectrons: 0 };
    expect(faintestFound(city, 40) - faintestFound(city, 4)).toBeCloseTo(1.25, 6);
    expect(faintestFound({ ...city, apertureMillimetres: 60 }, 4) - faintestFound(city, 4)).toBeCloseTo(1.25 * Math.log10(4), 6);
  });
  test('grows by 2.5 magnitudes for ten times the exposure where the read noise rules', () => {
    const noisy = { ...camera, skyMagnitude: 23, readNoiseElectrons: 100 };
    expect(faintestFound(noisy, 40) - faintestFound(noisy, 4)).toBeCloseTo(2.5, 2);
  });
});

describe('the suggested exposure', () => {
  const sky = makeLocalSky(TIME, makeSite({ latitudeDeg: 50, longitudeDeg: 0 }));
  const near = starsNear(catalogue, sky.fromLocal(sky.refractedPole(1)), 3 * DEGREE);
  const camera = { ...CASES[0]![3], fwhmPixels: usualFwhm(CASES[0]![3]) };
  test('is longer for less aperture, and brings plenty even through haze', () => {
    const [wide, narrow] = [30, 8].map(
      (apertureMillimetres) => suggestExposure({ ...camera, apertureMillimetres }, near),
    ) as [ReturnType<typeof suggestExposure>, ReturnType<typeof suggestExposure>];
    expect(narrow.exposureSeconds).toBeGreaterThan(wide.exposureSeconds);
    expect(forecastStars({ ...camera, apertureMillimetres: 8 }, narrow.exposureSeconds, near, 1).stars).toBeGreaterThan(40);
    expect(narrow.fewStars).toBe(false);
  });
  test('says where no exposure brings enough', () => {
    expect(suggestExposure({ ...camera, focalLengthMillimetres: 3000, apertureMillimetres: 200 }, near).fewStars).toBe(true);
  });
});

test('a field is as wide as twice the arctangent of half its width over the focal length', () => {
  // 36 mm behind 50 mm: 39.6° (common value of handbooks); 206.265 times µm over mm.
  const field = fieldSize({ focalLengthMillimetres: 50, pixelSizeMicrometres: 6, width: 6000, height: 4000 });
  expect(field.widthDeg).toBeCloseTo(39.6, 1);
  expect(field.arcsecPerPixel).toBeCloseTo(206.265 * 6 / 50, 3);
});
