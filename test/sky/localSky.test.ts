import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Vector, angleBetween, fromSpherical, toSpherical } from '../../src/geometry/vector.js';
import { type Hemisphere, makeLocalSky } from '../../src/sky/localSky.js';
import { NO_POLAR_MOTION } from '../../src/sky/polarMotion.js';
import { makeSite } from '../../src/sky/site.js';

const between = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const time = fc.date({ min: new Date('2000-01-01T00:00:00Z'), max: new Date('2050-12-31T00:00:00Z'), noInvalidDate: true });
const site = fc.record({
  latitudeDeg: between(-89, 89), longitudeDeg: between(-180, 180), elevationMetres: between(-100, 5000),
}).map(makeSite);
const airless = fc.record({
  latitudeDeg: between(-89, 89), longitudeDeg: between(-180, 180), elevationMetres: between(0, 5000), pressureHectopascal: fc.constant(0),
}).map(makeSite);
const direction = fc.tuple(between(-Math.PI, Math.PI), between(-1, 1)).map(([a, z]): Vector => fromSpherical(a, Math.asin(z)));
const runs = { numRuns: 200 };

describe('a star\'s direction', () => {
  test('leads back to its catalogue place', () => {
    fc.assert(fc.property(time, fc.option(site), direction, (when, where, star) => {
      const sky = makeLocalSky(when, where);
      expect(angleBetween(sky.fromLocal(sky.toLocal(star)), star)).toBeLessThan(1e-9);
    }), runs);
  });

  test('has length 1', () => {
    fc.assert(fc.property(time, fc.option(site), direction, (when, where, star) => {
      expect(Math.abs(Math.hypot(...makeLocalSky(when, where).toLocal(star)) - 1)).toBeLessThan(1e-9);
    }), runs);
  });

  test('is the same whether asked for alone or among many', () => {
    fc.assert(fc.property(time, fc.option(site), fc.array(direction, { maxLength: 9 }), (when, where, stars) => {
      const sky = makeLocalSky(when, where);
      const all = sky.toLocalAll(Float64Array.from(stars.flat()));
      stars.forEach((star, i) => {
        expect(angleBetween([all[3 * i]!, all[3 * i + 1]!, all[3 * i + 2]!], sky.toLocal(star))).toBeLessThan(1e-12);
      });
    }), runs);
  });

  test('can be written over the catalogue place', () => {
    const sky = makeLocalSky(new Date('2026-11-25T19:30:00Z'), makeSite({ latitudeDeg: 39.2, longitudeDeg: -3.4 }));
    const stars = Float64Array.from([...fromSpherical(1, 1.2), ...fromSpherical(-2, 1.5)]);
    const apart = sky.toLocalAll(stars.slice());
    expect(sky.toLocalAll(stars, stars)).toBe(stars);
    expect(stars).toEqual(apart);
  });

  test('keeps its angle to another, but for aberration', () => {
    // Two stars shift by at most v/c = 20.6″ (Earth's fastest) each, and diurnal aberration adds 0.32″.
    fc.assert(fc.property(time, airless, direction, direction, (when, where, a, b) => {
      const sky = makeLocalSky(when, where);
      const change = Math.abs(angleBetween(sky.toLocal(a), sky.toLocal(b)) - angleBetween(a, b));
      expect(change).toBeLessThan(21.2 * Math.min(2, 2 * Math.sin(angleBetween(a, b) / 2)) * ARCSECOND + 1e-12);
    }), runs);
  });

  test('swings by the constant of aberration between the equinoxes at the poles of the ecliptic', () => {
    // κ = 20.496″ (IAU 1976). At the equinoxes the Earth moves along the line from the pole of the ecliptic to the celestial pole.
    // Two opposite stars both shift that way: what their distances from the celestial pole lack to half a turn is 2κ, whatever
    // precession and nutation do, and of the other sign at the other equinox. The mean frees it from the orbit's eccentricity.
    const eclipticPole = fromSpherical(-90 * DEGREE, (90 - 23.4393) * DEGREE);
    const lack = (date: string): number => {
      const sky = makeLocalSky(new Date(date), null);
      const distance = (star: Vector): number => angleBetween(sky.toLocal(star), sky.truePole(1));
      return (Math.PI - distance(eclipticPole) - distance([-eclipticPole[0], -eclipticPole[1], -eclipticPole[2]])) / ARCSECOND;
    };
    const swing = (lack('2026-09-23T00:00:00Z') - lack('2026-03-20T14:00:00Z')) / 4;
    expect(Math.abs(Math.abs(swing) - 20.496)).toBeLessThan(0.05);
  });

  test('shifts toward where the Earth goes', () => {
    // In late March the Earth has passed the September side of its year's way by half a turn: seen from it the Sun stands at the
    // equinox (x), and it moves a quarter turn behind the Sun, toward right ascension 18 h, declination -23.4°.
    const ahead = fromSpherical(-90 * DEGREE, -23.44 * DEGREE);
    const star = fromSpherical(-90 * DEGREE, 60 * DEGREE);
    const sky = makeLocalSky(new Date('2026-03-20T15:00:00Z'), null);
    const nearer = angleBetween(star, ahead) - angleBetween(sky.toLocal(star), sky.toLocal(ahead));
    expect(nearer / ARCSECOND).toBeGreaterThan(19);
  });
});

describe('the true pole', () => {
  test('stands at the latitude over the north point, its opposite over the south point', () => {
    fc.assert(fc.property(time, site, (when, where) => {
      const sky = makeLocalSky(when, where);
      const north = toSpherical(sky.truePole(1));
      expect(north.latitude).toBeCloseTo(where.latitude, 12);
      expect(north.longitude).toBeCloseTo(Math.PI / 2, 9);
      expect(angleBetween(sky.truePole(1), sky.truePole(-1))).toBeCloseTo(Math.PI, 12);
    }), runs);
  });

  test('is what the sky turns about: every star keeps its distance from it over an hour', () => {
    // Precession and nutation move it 0.003″ an hour, the Earth's velocity turns by 0.015″, diurnal aberration by up to 0.08″.
    fc.assert(fc.property(time, airless, fc.constantFrom<Hemisphere>(1, -1), direction, (when, where, hemisphere, star) => {
      const distance = (at: Date): number => {
        const sky = makeLocalSky(at, where, NO_POLAR_MOTION);
        return angleBetween(sky.toLocal(star), sky.truePole(hemisphere));
      };
      const later = new Date(when.getTime() + 3600_000);
      expect(Math.abs(distance(later) - distance(when))).toBeLessThan(0.15 * ARCSECOND);
    }), runs);
  });

  test('sees the stars turn by 15.041° an hour, westward over the north', () => {
    const where = makeSite({ latitudeDeg: 50, longitudeDeg: 10, pressureHectopascal: 0 });
    const star = fromSpherical(0.3, 85 * DEGREE);
    const angleAtPole = (at: number): number => {
      // Position angle at the pole from straight up, growing toward the east.
      const local = makeLocalSky(new Date(at), where).toLocal(star);
      const up = Math.cos(where.latitude) * local[2] - Math.sin(where.latitude) * local[1];
      return Math.atan2(local[0], up);
    };
    const start = Date.UTC(2026, 10, 25, 20);
    const turned = angleAtPole(start + 3600_000) - angleAtPole(start);
    const wrapped = turned - 2 * Math.PI * Math.round(turned / (2 * Math.PI));
    expect(wrapped / DEGREE).toBeCloseTo(-15.041, 2);
  });
});

describe('the refracted pole', () => {
  test('stands above the true pole by the refraction at its altitude', () => {
    // 58.294″ tan z - 0.0668″ tan³ z, z apparent, at 1010 hPa and 10 °C (Smart, quoted by Meeus, Astronomical Algorithms,
    // chapter 16; from memory), in proportion to pressure over temperature.
    const where = makeSite({ latitudeDeg: -36.9, longitudeDeg: 174.7, pressureHectopascal: 1005, temperatureCelsius: 11 });
    const sky = makeLocalSky(new Date('2026-11-25T10:00:00Z'), where);
    const up = toSpherical(sky.refractedPole(-1)).latitude - toSpherical(sky.truePole(-1)).latitude;
    const tangent = 1 / Math.tan(36.9 * DEGREE);
    const expected = (58.294 * tangent - 0.0668 * tangent ** 3) * (1005 / 1010) * (283.15 / 284.15);
    expect(Math.abs(up / ARCSECOND / expected - 1)).toBeLessThan(0.01);
    expect(toSpherical(sky.refractedPole(-1)).longitude).toBeCloseTo(-Math.PI / 2, 12);
  });

  test('is where a star at the pole of date appears, but for aberration', () => {
    fc.assert(fc.property(time, between(10, 80), between(-180, 180), fc.constantFrom<Hemisphere>(
      1, -1,
    ), (when, polar, longitudeDeg, hemisphere) => {
      const sky = makeLocalSky(when, makeSite({ latitudeDeg: hemisphere * polar, longitudeDeg }));
      const star = sky.fromLocal(sky.refractedPole(hemisphere));
      expect(angleBetween(star, [0, 0, hemisphere])).toBeLessThan(51 * 20.1 * ARCSECOND + 0.6 * ARCMINUTE);
      expect(angleBetween(sky.toLocal(star), sky.refractedPole(hemisphere))).toBeLessThan(1e-9);
    }), runs);
  });
});

describe('the south', () => {
  test('mirrors the north: the sky half a turn over, seen from the opposite place', () => {
    // From the antipode the zenith is the nadir: e, n, u become e', n', u' with u' = -u; without air or aberration a star and
    // its opposite stand at equal altitudes. Aberration moves each by at most 21″.
    fc.assert(fc.property(time, between(-80, 80), between(0, 180), direction, (when, latitudeDeg, longitudeDeg, star) => {
      const here = makeLocalSky(when, makeSite({ latitudeDeg, longitudeDeg, pressureHectopascal: 0 }));
      const there = makeLocalSky(when, makeSite({ latitudeDeg: -latitudeDeg, longitudeDeg: longitudeDeg - 180, pressureHectopascal: 0 }));
      const opposite: Vector = [-star[0], -star[1], -star[2]];
      const a = toSpherical(here.toLocal(star)).latitude;
      const b = toSpherical(there.toLocal(opposite)).latitude;
      expect(Math.abs(a - b)).toBeLessThan(2 * 21.2 * ARCSECOND);
    }), runs);
  });
});

describe('without a site', () => {
  test('both poles are the ends of z, and no air lifts anything', () => {
    const sky = makeLocalSky(new Date('2031-05-05T05:05:05Z'), null);
    expect(sky.truePole(1)).toEqual([0, 0, 1]);
    expect(sky.refractedPole(1)).toEqual([0, 0, 1]);
    expect(sky.refractedPole(-1)[2]).toBe(-1);
    expect(sky.refraction).toEqual({ a: 0, b: 0 });
  });

  test('x is the meridian of Greenwich: there a star culminates when it has no y', () => {
    // Seen from latitude 0, longitude 0 without air, x is up, y east and z north.
    fc.assert(fc.property(time, direction, (when, star) => {
      const free = makeLocalSky(when, null).toLocal(star);
      const greenwich = makeLocalSky(
        when, makeSite({ latitudeDeg: 0, longitudeDeg: 0, pressureHectopascal: 0 }), NO_POLAR_MOTION,
      ).toLocal(star);
      // The site's own motion, 0.32″, is all that differs.
      expect(angleBetween(free, [greenwich[2], greenwich[0], greenwich[1]])).toBeLessThan(0.33 * ARCSECOND);
    }), runs);
  });
});
