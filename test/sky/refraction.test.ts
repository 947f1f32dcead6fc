import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { angleBetween, fromSpherical, toSpherical } from '../../src/geometry/vector.js';
import {
  NO_REFRACTION, refract, refractDirection, refractionAngle, siteRefraction, unrefract, unrefractDirection,
} from '../../src/sky/refraction.js';
import { makeSite } from '../../src/sky/site.js';

const air = fc.record({
  pressureHectopascal: fc.double({ min: 450, max: 1080, noNaN: true }),
  temperatureCelsius: fc.double({ min: -50, max: 45, noNaN: true }),
  relativeHumidity: fc.double({ min: 0, max: 1, noNaN: true }),
}).map((given) => siteRefraction(makeSite({ latitudeDeg: 0, longitudeDeg: 0, ...given })));
const zenithDistance = fc.double({ min: 0, max: Math.PI, noNaN: true });

describe('refraction', () => {
  test('undoes itself from the zenith to the nadir', () => {
    fc.assert(fc.property(air, zenithDistance, (refraction, z) => {
      expect(Math.abs(unrefract(refraction, refract(refraction, z)) - z)).toBeLessThan(1e-12);
      expect(Math.abs(refract(refraction, unrefract(refraction, z)) - z)).toBeLessThan(1e-12);
    }));
  });

  test('keeps the order of directions, above the horizon and below', () => {
    fc.assert(fc.property(air, zenithDistance, zenithDistance, (refraction, first, second) => {
      fc.pre(Math.abs(first - second) > 1e-9);
      expect(refract(refraction, first) < refract(refraction, second)).toBe(first < second);
    }));
  });

  test('lifts and never by more than a degree', () => {
    fc.assert(fc.property(air, zenithDistance, (refraction, z) => {
      expect(refractionAngle(refraction, z)).toBeGreaterThanOrEqual(0);
      expect(refractionAngle(refraction, z)).toBeLessThan(DEGREE);
    }));
  });

  test('has neither a step nor a kink where the formula ends, at 5° altitude', () => {
    fc.assert(fc.property(air, (refraction) => {
      const h = 1e-6;
      const at = (offset: number): number => refractionAngle(refraction, 85 * DEGREE + offset);
      expect(Math.abs(at(1e-12) - at(-1e-12))).toBeLessThan(1e-12);
      const before = (at(0) - at(-h)) / h;
      const after = (at(h) - at(0)) / h;
      expect(Math.abs(after - before)).toBeLessThan(1e-5);
    }));
  });

  test('is nothing without air', () => {
    expect(siteRefraction(makeSite({ latitudeDeg: 0, longitudeDeg: 0, pressureHectopascal: 0 }))).toEqual(NO_REFRACTION);
    fc.assert(fc.property(zenithDistance, (z) => {
      expect(refract(NO_REFRACTION, z)).toBe(z);
    }));
  });

  test('changes the altitude of a direction only, and its inverse brings it back', () => {
    const azimuth = fc.double({ min: -3.1, max: 3.1, noNaN: true });
    const altitude = fc.double({ min: -1.5, max: 1.57, noNaN: true });
    fc.assert(fc.property(air, azimuth, altitude, (refraction, az, alt) => {
      const direction = fromSpherical(az, alt);
      const seen = refractDirection(refraction, direction);
      expect(Math.hypot(...seen)).toBeCloseTo(1, 12);
      expect(toSpherical(seen).latitude).toBeGreaterThanOrEqual(alt - 1e-12);
      expect(Math.abs(toSpherical(seen).longitude - az)).toBeLessThan(1e-9);
      expect(angleBetween(unrefractDirection(refraction, seen), direction)).toBeLessThan(1e-11);
    }));
  });

  test('leaves the zenith where it is', () => {
    expect(refractDirection({ a: 60 * ARCSECOND, b: -0.07 * ARCSECOND }, [0, 0, 1])).toEqual([0, 0, 1]);
  });
});
