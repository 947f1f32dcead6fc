import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { axisWithError } from '../../src/axis/axisError.js';
import type { AxisResult } from '../../src/axis/axisResult.js';
import { errorElsewhere, leverage } from '../../src/axis/elsewhere.js';
import { ARCMINUTE, DEGREE } from '../../src/geometry/angle.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';

const TIME = new Date('2026-11-25T20:00:00Z');
const nights = fc.record({
  latitudeDeg: fc.oneof(fc.double({ min: 15, max: 70, noNaN: true }), fc.double({ min: -70, max: -15, noNaN: true })),
  longitudeDeg: fc.double({ min: -170, max: 170, noNaN: true }),
  altitude: fc.double({ min: -30, max: 30, noNaN: true }), azimuth: fc.double({ min: -30, max: 30, noNaN: true }),
});
interface Drawn { readonly latitudeDeg: number; readonly longitudeDeg: number; readonly altitude: number; readonly azimuth: number }
/** An axis that is off the refracted pole by these arcminutes. */
function axisAt({ latitudeDeg, longitudeDeg, altitude, azimuth }: Drawn) {
  const hemisphere = latitudeDeg < 0 ? -1 : 1;
  const site = makeSite({ latitudeDeg, longitudeDeg });
  const sky = makeLocalSky(TIME, site);
  const axis = axisWithError(sky.refractedPole(hemisphere), altitude * ARCMINUTE, azimuth * ARCMINUTE);
  return { site, sky, result: { axis, hemisphere, aim: 'refracted' } as AxisResult };
}

describe('the answer at another place or time', () => {
  test('is the same at the same one', () => {
    fc.assert(fc.property(nights, (night) => {
      const { site, sky, result } = axisAt(night);
      const same = errorElsewhere(result, sky, site)!;
      expect(same.altitude / ARCMINUTE).toBeCloseTo(night.altitude, 4);
      expect(same.azimuth / ARCMINUTE).toBeCloseTo(night.azimuth, 4);
    }), { numRuns: 30 });
  });

  test('an hour turns it about the pole by 15° and leaves its size to a hundredth; 15° of longitude do the same', () => {
    fc.assert(fc.property(nights, (night) => {
      const { site, sky, result } = axisAt(night);
      const size = Math.hypot(night.altitude, night.azimuth * Math.cos(site.latitude));
      const later = errorElsewhere(result, sky, site, new Date(TIME.getTime() + 3_590_170))!;
      const east = errorElsewhere(result, sky, { ...site, longitude: site.longitude + 15 * DEGREE })!;
      expect(Math.abs(later.separation / ARCMINUTE - size)).toBeLessThan(0.01 * size + 0.4);
      expect(Math.hypot(later.altitude - east.altitude, later.azimuth - east.azimuth) / ARCMINUTE).toBeLessThan(0.02);
    }), { numRuns: 30 });
  });

  test('the derivative is that of a finite difference, and a degree counts as the fifteenth of an hour', () => {
    fc.assert(fc.property(nights, (night) => {
      const { site, sky, result } = axisAt(night);
      const found = leverage(result, sky)!;
      const at = errorElsewhere(result, sky, site, new Date(TIME.getTime() + 60_000))!;
      const now = errorElsewhere(result, sky, site)!;
      expect(Math.abs(found.hour.altitude - 60 * Math.abs(at.altitude - now.altitude)) / ARCMINUTE).toBeLessThan(0.1);
      expect(Math.abs(found.hour.azimuth - 60 * Math.abs(at.azimuth - now.azimuth)) / ARCMINUTE).toBeLessThan(0.3);
      expect(Math.abs(found.hour.altitude - 15.04 * found.longitudeDegree.altitude) / ARCMINUTE).toBeLessThan(0.05);
    }), { numRuns: 30 });
  });

  test('beyond the equator there is none', () => {
    const { sky, result } = axisAt({ latitudeDeg: 40, longitudeDeg: 0, altitude: 5, azimuth: 5 });
    expect(errorElsewhere(result, sky, makeSite({ latitudeDeg: -40, longitudeDeg: 0 }))).toBeNull();
  });
});
