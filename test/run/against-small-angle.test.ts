import { describe, expect, test } from 'vitest';
import { axisWithError } from '../../src/axis/axisError.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import type { Vector } from '../../src/geometry/vector.js';
import { axisBeside } from '../../src/run/allowedError.js';
import { goldenMinimum } from '../../src/run/bestAim.js';
import { poleDirections, siderealTurn } from '../../src/run/misalignedMount.js';
import { elongation } from '../../src/run/trailLimit.js';
import { guidedTrail, runView, unguidedTrail } from '../../src/run/runTrail.js';
import { planOf } from './runPlans.js';

/*
 * The published small-angle results, as limits of the exact geometry. The books and papers are named from memory, not at hand
 * when this was written; each formula was derived anew and stands here in this project's signs (axis off the pole by ε toward hour angle
 * h).
 *
 * - Declination drift ε·sin(h - H) for each radian the sky turns: King, A Manual of Celestial Photography (1931), ch. on adjusting the
 *   polar axis; Hook, J. Brit. Astron. Assoc. 99 (1989) 19; Barrett, Measuring Polar Axis Alignment Error (2008). Valid for ε well below
 *   the distance from the pole, drifts far below ε, no air.
 * - Field rotation about a guide star ε·cos(H - h)/cos δ for each radian: Hook 1989; Barrett 2008. Valid for ε well below 90° - |δ|.
 * - The axis that best absorbs refraction: King 1931 raised it toward the refracted pole for stars about the meridian. With refraction
 *   A·tan z the raise is A·sin φ·cos φ / cos²(φ - δ). Valid within an hour or so of the meridian, zenith distance below 60°.
 */

/** Axis off the true pole by ε (radians) toward an hour angle, latitude north. */
function axisToward(latitude: number, epsilon: number, hourAngle: number): Vector {
  const { truePole } = poleDirections({ latitude, refraction: { a: 0, b: 0 } });
  // Hour angle 0 is up from the pole, 6 h is west of it.
  return axisBeside(truePole, epsilon, -hourAngle);
}

const LATITUDE = 47.3;

describe('declination drift', () => {
  test('follows ε·sin(h - H), King 1931, Hook 1989, Barrett 2008', () => {
    for (const h of [0, 2, 5, 9, -4]) {
      for (const hourAngleHours of [-5, -2, 0, 1.5, 6]) {
        const view = runView(planOf({ latitudeDeg: LATITUDE, declinationDeg: 35, hourAngleHours, hours: 1 / 60, exposureSeconds: 60 }));
        const trail = unguidedTrail(view, axisToward(LATITUDE * DEGREE, 1 * ARCMINUTE, h * 15 * DEGREE));
        const turned = siderealTurn(1 / 60);
        const expected = ARCMINUTE * Math.sin((h - hourAngleHours) * 15 * DEGREE - turned / 2) * turned;
        expect(Math.abs(trail.declination - expected)).toBeLessThan(1e-3 * ARCMINUTE * turned);
      }
    }
  });

  test('of 1′ is at most 0.262″ a minute of time in sidereal minutes, 0.263″ in those of a clock', () => {
    let most = 0;
    for (let h = 0; h < 24; h += 0.25) {
      const view = runView(planOf({ latitudeDeg: LATITUDE, declinationDeg: 0, hourAngleHours: 2, hours: 1 / 60, exposureSeconds: 60 }));
      most = Math.max(most, unguidedTrail(view, axisToward(LATITUDE * DEGREE, ARCMINUTE, h * 15 * DEGREE)).declinationPerMinute);
    }
    // 2π/1440 for each minute of sidereal time; a clock's minute is longer by 366.2422/365.2422.
    const rule = (60 * 2 * Math.PI) / 1440;
    expect(rule.toFixed(3)).toBe('0.262');
    expect(most / ARCSECOND).toBeLessThanOrEqual(rule * 1.002738 + 1e-6);
    expect(most / ARCSECOND).toBeGreaterThan(rule * 0.999);
  });

  test('of an axis too high shows in the east and west, of one turned aside at the meridian', () => {
    const drift = (hourAngleHours: number, up: number, east: number): number => {
      const plan = planOf({ latitudeDeg: LATITUDE, declinationDeg: 0, hourAngleHours, hours: 1 / 60, exposureSeconds: 60 });
      const axis = axisWithError(poleDirections(plan).truePole, up * ARCMINUTE, (east * ARCMINUTE) / Math.cos(LATITUDE * DEGREE));
      return unguidedTrail(runView(plan), axis).declination / ARCSECOND;
    };
    // Common practice of the drift method in the north: too high, north in the east; too far east, south at the meridian.
    expect(drift(-6, 1, 0)).toBeCloseTo(0.2625, 3);
    expect(drift(6, 1, 0)).toBeCloseTo(-0.2625, 3);
    expect(Math.abs(drift(0, 1, 0))).toBeLessThan(1e-3);
    expect(drift(0, 0, 1)).toBeCloseTo(-0.2625, 3);
    expect(Math.abs(drift(-6, 0, 1))).toBeLessThan(1e-3);
  });
});

describe('field rotation about a guide star', () => {
  test('follows ε·cos(H - h)/cos δ, Hook 1989, Barrett 2008', () => {
    for (const declinationDeg of [-20, 0, 40, 70]) {
      for (const h of [0, 3, 8]) {
        const hours = 0.5, hourAngleHours = -1;
        const view = runView(planOf({ latitudeDeg: LATITUDE, declinationDeg, hourAngleHours, hours, exposureSeconds: 300 }));
        const guided = guidedTrail(view, axisToward(LATITUDE * DEGREE, ARCMINUTE, h * 15 * DEGREE));
        const turned = siderealTurn(hours);
        const from = (hourAngleHours - h) * 15 * DEGREE;
        // The integral over the run; the exact one differs by ε·tan δ.
        const expected = (ARCMINUTE / Math.cos(declinationDeg * DEGREE)) * (Math.sin(from + turned) - Math.sin(from));
        expect(Math.abs(Math.abs(guided.fieldRotation) - Math.abs(expected))).toBeLessThan(
          3e-3 * ARCMINUTE * turned / Math.cos(declinationDeg * DEGREE),
        );
      }
    }
  });

  test('smears a corner by rotation times distance', () => {
    const view = runView(planOf(
      { latitudeDeg: LATITUDE, declinationDeg: 60, hourAngleHours: -0.1, hours: 0.2, exposureSeconds: 720 }, { guideOffset: 0.5 * DEGREE },
    ));
    const { cornerPixels, fieldRotation } = guidedTrail(view, axisToward(LATITUDE * DEGREE, 10 * ARCMINUTE, 0));
    const distance = 3000 + (0.5 * 3600) / 1.5;
    // The guide star's own declination, half a degree from the field's, is in both.
    expect(cornerPixels / (Math.abs(fieldRotation) * distance)).toBeCloseTo(1, 1);
  });
});

describe('the axis that absorbs refraction about the meridian', () => {
  /** Raise above the true pole that makes the declination drift about the meridian smallest. */
  function bestRaise(latitudeDeg: number, declinationDeg: number, a: number): number {
    const view = runView(planOf(
      { latitudeDeg, declinationDeg, hourAngleHours: -0.5, hours: 1, exposureSeconds: 360 }, { refraction: { a, b: 0 } },
    ));
    const { truePole } = poleDirections({ latitude: latitudeDeg * DEGREE, refraction: { a, b: 0 } });
    return goldenMinimum(
      (up) => unguidedTrail(view, axisWithError(truePole, up, 0)).declinationPerMinute, -10 * ARCMINUTE, 20 * ARCMINUTE, 0.05 * ARCSECOND,
    ).x;
  }

  test('is raised by A·sin φ·cos φ / cos²(φ - δ), after King 1931', () => {
    // About refraction at sea level, 58.3″ (Allen, Astrophysical Quantities, from memory).
    const a = 58.3 * ARCSECOND;
    for (const [latitudeDeg, declinationDeg] of [[45, 45], [45, 10], [52, 20], [30, 70], [60, 88]] as const) {
      const f = latitudeDeg * DEGREE, z = (latitudeDeg - declinationDeg) * DEGREE;
      const expected = (a * Math.sin(f) * Math.cos(f)) / Math.cos(z) ** 2;
      expect(bestRaise(latitudeDeg, declinationDeg, a) / expected).toBeCloseTo(1, 1);
    }
  });

  test('lies below the refracted pole for the zenith, at it for the pole, beyond it for a star lower than the pole', () => {
    const a = 58.3 * ARCSECOND;
    const share = (latitudeDeg: number, declinationDeg: number): number =>
      bestRaise(latitudeDeg, declinationDeg, a) / (a / Math.tan(latitudeDeg * DEGREE));
    expect(share(45, 45)).toBeCloseTo(0.5, 1);
    expect(share(45, 89.5)).toBeCloseTo(1, 1);
    expect(share(45, -10)).toBeGreaterThan(1.3);
  });
});

describe('the default limit', () => {
  test('one pixel makes a critically sampled star 5.6 % longer than wide, a width of three pixels 2.5 %', () => {
    // By summing the smeared image instead of the formula.
    const measured = (trail: number, fwhm: number): number => {
      const sigma = fwhm / Math.sqrt(8 * Math.log(2));
      let sum = 0, second = 0;
      for (let x = -12; x <= 12; x += 0.01) {
        let light = 0;
        for (let u = -0.5 + 0.005; u < 0.5; u += 0.01) light += Math.exp(-((x - u * trail) ** 2) / (2 * sigma * sigma));
        sum += light;
        second += light * x * x;
      }
      return Math.sqrt(second / sum) / sigma;
    };
    expect(measured(1, 2)).toBeCloseTo(elongation(1, 2), 4);
    expect(elongation(1, 2)).toBeCloseTo(1.056, 3);
    expect(elongation(1, 3)).toBeCloseTo(1.025, 3);
    expect(elongation(1.36, 2)).toBeCloseTo(1.1, 2);
  });
});
