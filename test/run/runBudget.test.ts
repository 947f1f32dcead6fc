import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { axisWithError } from '../../src/axis/axisError.js';
import { ARCMINUTE, DEGREE } from '../../src/geometry/angle.js';
import { angleBetween } from '../../src/geometry/vector.js';
import { axisBeside } from '../../src/run/allowedError.js';
import { poleDirections } from '../../src/run/misalignedMount.js';
import { runBudget } from '../../src/run/runBudget.js';
import { longestGuided, longestUnguided, runView } from '../../src/run/runTrail.js';
import { errorOf, planOf } from './runPlans.js';

const AIR = { hPa: 1000, C: 10, humidity: 0.5 };
const PLAN = planOf({ latitudeDeg: 47.3, declinationDeg: 41.3, hourAngleHours: -2.5, hours: 4, exposureSeconds: 180, air: AIR });

describe('the allowed error', () => {
  for (const guiding of [false, true]) {
    test(`keeps the run within the limit in every direction and no more, ${guiding ? 'guided' : 'unguided'}`, () => {
      const budget = runBudget(PLAN, errorOf(3, -5), 'refracted', guiding, 1);
      const view = runView(PLAN);
      const { refractedPole } = poleDirections(PLAN);
      const trail = (separation: number, direction: number): number => {
        const axis = axisBeside(refractedPole, separation, direction);
        return guiding ? longestGuided(view, axis) : longestUnguided(view, axis) / PLAN.pixel;
      };
      const around = Array.from({ length: 72 }, (_, k) => (k * 5 * DEGREE));
      expect(Math.max(...around.map((d) => trail(0.998 * budget.allowed, d)))).toBeLessThanOrEqual(1);
      expect(Math.max(...around.map((d) => trail(1.01 * budget.allowed, d)))).toBeGreaterThan(1);
      expect(budget.allowedThisWay).toBeGreaterThanOrEqual(0.999 * budget.allowed);
    });
  }

  test('in the error\'s own direction is where scaling that error meets the limit', () => {
    const first = runBudget(PLAN, errorOf(3, -5), 'refracted', false, 1);
    const share = first.allowedThisWay! / first.fromRefractedPole.separation;
    const within = runBudget(PLAN, errorOf(3 * share * 0.995, -5 * share * 0.995), 'refracted', false, 1);
    const outside = runBudget(PLAN, errorOf(3 * share * 1.005, -5 * share * 1.005), 'refracted', false, 1);
    expect([within.withinLimit, outside.withinLimit]).toEqual([true, false]);
  });

  test('is none where the air alone is too much', () => {
    const low = planOf({ latitudeDeg: 47.3, declinationDeg: -15, hourAngleHours: 2, hours: 1.5, exposureSeconds: 900, air: AIR });
    const budget = runBudget(low, errorOf(0, 0), 'true', false, 0.5);
    expect(budget.trailWithoutError).toBeGreaterThan(0.5);
    expect(budget.allowed).toBe(0);
    expect(budget.allowedThisWay).toBeNull();
  });

  test('axes beside a pole stand where they are asked to', () => {
    fc.assert(fc.property(fc.double({ min: -85, max: 85, noNaN: true }), fc.double({ min: 1e-6, max: 0.17, noNaN: true }), (
      latitude, separation,
    ) => {
      const { truePole } = poleDirections({ latitude: latitude * DEGREE, refraction: { a: 0, b: 0 } });
      const raised = axisBeside(truePole, separation, 0), east = axisBeside(truePole, separation, Math.PI / 2);
      expect(angleBetween(raised, truePole)).toBeCloseTo(separation, 12);
      expect(raised.every((v, i) => Math.abs(v - axisWithError(truePole, separation, 0)[i]!) < 1e-12)).toBe(true);
      expect(east[0]).toBeCloseTo(Math.sin(separation), 14);
    }));
  });
});

describe('the best aim', () => {
  const plans = {
    'a field through the meridian': PLAN,
    'a field in the east': planOf({
      latitudeDeg: 47.3, declinationDeg: 20, hourAngleHours: -4.5, hours: 2, exposureSeconds: 300, air: AIR,
    }),
    'a southern field low in the north': planOf({
      latitudeDeg: -33, declinationDeg: 25, hourAngleHours: -1, hours: 3, exposureSeconds: 300, air: AIR,
    }),
    'a field at the pole': planOf({ latitudeDeg: 39.2, declinationDeg: 80, hourAngleHours: 5, hours: 4, exposureSeconds: 300, air: AIR }),
  };
  for (const [name, plan] of Object.entries(plans)) {
    for (const guiding of [false, true]) {
      test(`no axis around it does better: ${name}, ${guiding ? 'guided' : 'unguided'}`, () => {
        const { best } = runBudget(plan, errorOf(0, 0), 'refracted', guiding, 1);
        const view = runView(plan, 2, 4);
        const trail = (up: number, east: number): number => {
          const axis = axisWithError(best.axis, up * ARCMINUTE, (east * ARCMINUTE) / Math.hypot(best.axis[0], best.axis[1]));
          return guiding ? longestGuided(view, axis) : longestUnguided(view, axis) / plan.pixel;
        };
        expect(trail(0, 0)).toBeCloseTo(best.trail, 9);
        let least = Infinity;
        for (const radius of [0.1, 0.3, 1, 3, 10]) {
          for (let k = 0; k < 24; k++) least = Math.min(
            least, trail(radius * Math.cos((k * Math.PI) / 12), radius * Math.sin((k * Math.PI) / 12)),
          );
        }
        expect(least).toBeGreaterThan(0.98 * best.trail - 1e-4);
        expect(best.trail).toBeLessThanOrEqual(Math.min(best.trailAtTruePole, best.trailAtRefractedPole, best.betweenPoles.trail));
      });
    }
  }

  test('without air is the pole itself', () => {
    const { best } = runBudget({ ...PLAN, refraction: { a: 0, b: 0 } }, errorOf(2, 2), 'refracted', false, 1);
    expect(best.fromTruePole.separation).toBeLessThan(1e-9);
    expect(best.isBetween).toBe(true);
  });
});

describe('knobs', () => {
  test('azimuth matters more about the meridian, altitude in the east, unguided; the other way round guided', () => {
    const at = (hourAngleHours: number, guiding: boolean) =>
      runBudget(
        planOf({ latitudeDeg: 40, declinationDeg: 10, hourAngleHours, hours: 1, exposureSeconds: 120 }), errorOf(1, 1), 'true', guiding, 1,
      ).perArcminute;
    const south = at(-0.5, false), east = at(-5, false);
    expect(south.azimuth).toBeGreaterThan(2 * south.altitude);
    expect(east.altitude).toBeGreaterThan(2 * east.azimuth);
    expect(at(-0.5, true).altitude).toBeGreaterThan(2 * at(-0.5, true).azimuth);
  });

  test('a measured error carries its sigma into the trail', () => {
    const sigma = { altitude: 0.1 * ARCMINUTE, azimuth: 0.1 * ARCMINUTE };
    const budget = runBudget(PLAN, { ...errorOf(3, -5), sigma }, 'refracted', false, 1);
    expect(budget.sigma).toBeGreaterThan(0.01);
    expect(budget.sigma).toBeLessThan(Math.hypot(budget.perArcminute.altitude, budget.perArcminute.azimuth) * 0.1 * 1.1);
  });
});
