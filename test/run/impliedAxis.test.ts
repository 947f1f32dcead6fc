import { describe, expect, it } from 'vitest';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { axisWithError, horizontal } from '../../src/axis/axisError.js';
import { expectedMotion } from '../../src/run/fieldDrift.js';
import { registerField } from '../../src/run/registerField.js';
import { targetPose } from '../../src/run/targetPose.js';
import { planLens } from '../../src/simulate/night.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { coverage, studyNight } from './study.js';
import { SITE, trackedNight } from './trackedNight.js';

describe('impliedAxis', () => {
  it('most of 8 invented tracked nights imply an axis within two sigmas of the true one, and the sigmas are not too wide', () => {
    const nights = Array.from({ length: 8 }, (_, seed) => studyNight(seed)).flatMap((n) => (n ? [n] : []));
    expect(nights.length).toBeGreaterThanOrEqual(7);
    const { within2, rms } = coverage(nights);
    // Altitude, azimuth, best and worst known combination: 95 %, less two standard deviations of such a count; study.ts has 200 nights.
    for (const share of within2) expect(share).toBeGreaterThanOrEqual(6 / 8);
    // An honest sigma gives 1, within 0.5 for so few nights; study.ts has more.
    for (const z of rms) {
      expect(z).toBeGreaterThan(0.4);
      expect(z).toBeLessThan(1.6);
    }
  }, 1_200_000);

  it('ten unguided minutes tell the axis to better than an arcminute, in an ordinary field', () => {
    const errors: number[] = [], sigmas: number[] = [];
    for (let seed = 0; seed < 20; seed++) {
      const night = studyNight(5000 + seed, { guiding: 'unguided', minutes: 10 });
      if (!night) continue;
      errors.push(Math.hypot(night.altitude, night.azimuth * Math.cos(horizontal(night.implied.axis).altitude)));
      sigmas.push(night.implied.combinations[0].sigma / ARCMINUTE);
    }
    const median = (v: number[]): number => v.sort((a, b) => a - b)[v.length >> 1]!;
    expect(median(errors)).toBeLessThan(1);
    // What declination drift tells is better known than that in every night.
    expect(Math.max(...sigmas)).toBeLessThan(1);
  }, 600_000);
});

describe('expectedMotion', () => {
  it('an arcminute of error gives 0.262 arcseconds of declination drift a minute at right angles to it, and next to none along it', () => {
    // 2π/1440 rad a minute (mean solar; sidereal 0.2625): the common rule of thumb. Air left out.
    const airless = { ...SITE, pressureHectopascal: 0 };
    for (const [hourAngleHours, up, east, expected] of [[0, 0, 1, 0.2625], [0, 1, 0, 0], [-6, 1, 0, 0.2625], [-6, 0, 1, 0]] as const) {
      const night = trackedNight(
        { site: airless }, { declinationDeg: 1, hourAngleHours: hourAngleHours * 0.8, frames: 2 }, {}, { wander: 0, missed: 0 },
      );
      const turn = hourAngleHours * 0.8 * 15 * DEGREE;
      const field = registerField(night.stars, night.plan.width, night.plan.height)!;
      const skies = night.skies.map((s) => makeLocalSky(s.time, airless));
      const geometry = {
        hemisphere: 1 as const, skies, lens: planLens(night.plan), pose: targetPose(skies[field.reference]!, night.icrs, night.orientation),
      };
      const pole = skies[0]!.truePole(1);
      const size = ARCMINUTE;
      const axis = axisWithError(pole, up * size, (east * size) / Math.cos(SITE.latitude));
      const still = expectedMotion(field, geometry, pole, 0, 1), moved = expectedMotion(field, geometry, axis, 0, 1);
      const { rowAngle, mirrored } = night.orientation;
      const columnAngle = rowAngle + (mirrored ? Math.PI / 2 : -Math.PI / 2);
      const north = (moved.x - still.x) * Math.cos(rowAngle) + (moved.y - still.y) * Math.cos(columnAngle);
      const perMinute = (north * 60) / geometry.lens.focalPixels / ARCSECOND;
      // Along hour angle 4.8 h the projection is its sine and cosine.
      const projected = hourAngleHours === 0
        ? expected
        : expected === 0 ? 0.2625 * Math.abs(Math.cos(turn)) : 0.2625 * Math.abs(Math.sin(turn));
      expect(Math.abs(perMinute)).toBeCloseTo(projected, 2);
    }
  });
});
