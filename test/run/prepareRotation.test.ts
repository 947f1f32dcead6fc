/** The planned precision against what the whole chain gives on simulated nights, rendered, recognised and measured. */
import { describe, expect, test } from 'vitest';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { checkPayload } from '../../src/run/preparePayload.js';
import { planRotation, type PlannedView } from '../../src/run/prepareRotation.js';
import type { StarCamera } from '../../src/run/prepareStars.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { skylight, starlight } from '../../src/sky/starlight.js';
import { solveNight } from '../accuracy/solveNight.js';
import { catalogue } from '../simulate/catalogue.js';

const TIME = new Date('2026-11-25T20:00:00Z');
const CAMERA: StarCamera = {
  focalLengthMillimetres: 180, pixelSizeMicrometres: 4.8, apertureMillimetres: 30, width: 960, height: 640,
  skyMagnitude: 20, readNoiseElectrons: 3, fwhmPixels: 2.4,
};
const view = (latitudeDeg: number, camera: Partial<StarCamera> = {}): PlannedView => ({
  sky: makeLocalSky(TIME, makeSite({ latitudeDeg, longitudeDeg: 10, pressureHectopascal: 1000, temperatureCelsius: 5 })),
  hemisphere: latitudeDeg < 0 ? -1 : 1, camera: { ...CAMERA, ...camera }, exposureSeconds: 4, catalogue, aim: 'refracted',
});

test.each([47, -30])('three frames turned by 30° at latitude %i are as sure as nights that were measured, within 20 %', (latitudeDeg) => {
  const { advised } = planRotation(view(latitudeDeg), 6 * ARCSECOND);
  expect(advised).toMatchObject({ frames: 3 });
  expect(advised!.turn).toBeCloseTo(30 * DEGREE, 9);
  const saidSite = makeSite({ latitudeDeg, longitudeDeg: 10, pressureHectopascal: 1000, temperatureCelsius: 5 });
  const light = starlight(CAMERA.apertureMillimetres);
  const sigmas = [1, 2, 3].map((seed) => {
    const plan = {
      ...ordinaryNight(saidSite, TIME), exposureSeconds: 4, rotationsDeg: [0, 15, 30], width: CAMERA.width, height: CAMERA.height,
      altitudeErrorArcmin: 20, azimuthErrorArcmin: 20, pointingOffsetDeg: 0.25, pointingDirectionDeg: 120 * seed,
      fwhmPixels: CAMERA.fwhmPixels,
      electronsAtMagnitude0: light, skyElectrons: skylight(20, light, 4, 5.5), seed,
      // As the forecast has it (Lindegren 1980).
      wanderPixels: 1.3 * Math.pow(0.0154, 0.25) / 2 / 5.5, distortion: [1],
    };
    const { measurement, aims, why } = solveNight({ number: seed, optics: 'guide scope', frames: 3, totalTurnDeg: 30, plan, saidSite });
    if (!measurement) throw new Error(why);
    return { up: aims.refracted.altitude.sigma, east: aims.refracted.azimuth.sigma * Math.cos(latitudeDeg * DEGREE) };
  });
  for (const way of ['up', 'east'] as const) {
    const measured = sigmas.reduce((sum, s) => sum + s[way] / sigmas.length, 0);
    expect(advised!.precision[way] / measured).toBeGreaterThan(1 / 1.2);
    expect(advised!.precision[way] / measured).toBeLessThan(1.2);
  }
});

describe('the plan', () => {
  test('asks for more rotation the surer the axis is to be, and never for less with fewer frames', () => {
    const turns = [3, 1, 0.3].map((arcsec) => planRotation(view(47), arcsec * ARCSECOND));
    const least = turns.map((plan) => plan.least.map(({ turning }) => turning?.turn ?? Infinity));
    for (const row of least) expect([...row].sort((a, b) => b - a)).toEqual(row);
    expect(least[1]![1]!).toBeGreaterThanOrEqual(least[0]![1]!);
    expect(least[2]![1]!).toBeGreaterThan(least[0]![1]!);
    expect(turns.every((plan) => plan.reached)).toBe(true);
    for (const [i, plan] of turns.entries()) expect(Math.max(plan.advised!.precision.up, plan.advised!.precision.east)).toBeLessThan(
      [3, 1, 0.3][i]! * ARCSECOND,
    );
  });
  test('follows the covariance: half the turn, half as sure (for small turns the error goes with 1 over its sine)', () => {
    const sigma = (turnDeg: number): number => {
      // The least turn that just reaches what this turn gives.
      const { least } = planRotation(view(47), 1e-3);
      expect(least[0]!.turning!.turn).toBeCloseTo(5 * DEGREE, 9);
      return turnDeg === 5
        ? least[0]!.turning!.precision.up
        : planRotation(view(47), least[0]!.turning!.precision.up / 1.8).least[0]!.turning!.precision.up;
    };
    expect(sigma(5) / sigma(10)).toBeGreaterThan(1.8);
    expect(sigma(5) / sigma(10)).toBeLessThan(2.1);
  });
  test('says what can\'t be reached, and that a frame with too few stars is not recognised', () => {
    const { reached, advised } = planRotation(view(47), 0.05 * ARCSECOND);
    expect(reached).toBe(false);
    expect(advised!.turn).toBeCloseTo(90 * DEGREE, 9);
    expect(planRotation(view(47, { focalLengthMillimetres: 3000 }), 6 * ARCSECOND)).toMatchObject({ reached: false, advised: null });
  });
});

test('a payload is held against half of the rating, and against all of it', () => {
  expect([[6.5, 13], [6.6, 13], [13, 13], [13.1, 13]].map(([a, b]) => checkPayload(a!, b!).verdict)).toEqual([
    'within', 'over-half', 'over-half', 'over-rating',
  ]);
  expect(checkPayload(5, 20).share).toBe(0.25);
});
