import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Vector, angleBetween, fromSpherical } from '../../src/geometry/vector.js';
import { stretchesBelow } from '../../src/sky/crossings.js';
import { darkness, nextDarkNight, nightAt, nightOf } from '../../src/sky/darkness.js';
import { phaseName } from '../../src/sky/moon.js';
import { poleStar, poleStarPlace } from '../../src/sky/poleStar.js';
import { makeSite } from '../../src/sky/site.js';
import { catalogue } from '../simulate/catalogue.js';

const day = (text: string): Date => new Date(`${text}T00:00:00Z`);

describe('a night', () => {
  test('has the date of its zone\'s calendar, on either side of the date line', () => {
    // 180° apart in the calendar, next to each other on the ground: the same night has two dates.
    const [east, west] = [makeSite({ latitudeDeg: -13.8, longitudeDeg: -171.8 }), makeSite({ latitudeDeg: -14.3, longitudeDeg: -170.7 })];
    const apia = nightOf(day('2026-11-26'), east, 13 * 60);
    const pagoPago = nightOf(day('2026-11-25'), west, -11 * 60);
    expect(Math.abs(apia.noon.getTime() - pagoPago.noon.getTime())).toBeLessThan(10 * 60_000);
  });
  test('does not change with a whole turn of longitude', () => {
    fc.assert(fc.property(fc.double({ min: -179, max: 179, noNaN: true }), (longitudeDeg) => {
      const [a, b] = [longitudeDeg, longitudeDeg + 360].map(
        (l) => nightOf(day('2026-11-25'), makeSite({ latitudeDeg: 40, longitudeDeg: l }), null),
      ) as [ReturnType<typeof nightOf>, ReturnType<typeof nightOf>];
      expect(Math.abs(a.noon.getTime() - b.noon.getTime())).toBeLessThan(5);
    }));
  });
  test('before dawn is the present one, and from the morning on the next one', () => {
    const site = makeSite({ latitudeDeg: 40, longitudeDeg: 0 });
    expect(nightAt(new Date('2026-11-26T03:00:00Z'), site).noon.toISOString()).toBe('2026-11-25T12:00:00.000Z');
    expect(nightAt(new Date('2026-11-26T09:00:00Z'), site).noon.toISOString()).toBe('2026-11-26T12:00:00.000Z');
    expect(nightAt(new Date('2026-11-26T15:00:00Z'), site).noon.toISOString()).toBe('2026-11-26T12:00:00.000Z');
  });
  test('has no darkness in a high summer, and the next dark night is a night that has', () => {
    const site = makeSite({ latitudeDeg: 65, longitudeDeg: 20 });
    const night = nightOf(day('2026-06-20'), site, null);
    expect(darkness(site, night)).toMatchObject({ nautical: { kind: 'none' }, astronomical: { kind: 'none' } });
    const noon = nextDarkNight(site, night)!;
    const before = { noon: new Date(noon.getTime() - 86_400_000), nextNoon: noon };
    expect(darkness(site, { noon, nextNoon: new Date(noon.getTime() + 86_400_000) }).nautical.kind).toBe('from-to');
    expect(darkness(site, before).nautical.kind).toBe('none');
  });
  test('lasts all day at the pole in winter', () => {
    const site = makeSite({ latitudeDeg: -89.9, longitudeDeg: 20 });
    expect(darkness(site, nightOf(day('2026-06-20'), site, null))).toMatchObject({ astronomical: { kind: 'all' } });
  });
});

test('the pole stars stand where the catalogue has them: sigma Octantis in Tycho-2 within 0.1″, Polaris to its rounding', () => {
  for (const [hemisphere, within] of [[1, 0.2], [-1, 0.1]] as const) {
    const star = poleStar(hemisphere);
    const place = fromSpherical(star.raDeg * DEGREE, star.decDeg * DEGREE);
    let best = { away: Infinity, magnitude: NaN };
    for (let i = 0; i < catalogue.count && catalogue.magnitudes[i]! < 6; i++) {
      const d = catalogue.directions;
      const away = angleBetween([d[3 * i]!, d[3 * i + 1]!, d[3 * i + 2]!] as Vector, place) / ARCSECOND;
      if (away < best.away) best = { away, magnitude: catalogue.magnitudes[i]! };
    }
    expect(best.away).toBeLessThan(within);
    expect(Math.abs(best.magnitude - star.magnitude)).toBeLessThan(0.1);
  }
});

describe('the clock position', () => {
  const turn = (latitudeDeg: number): number => {
    const site = makeSite({ latitudeDeg, longitudeDeg: 10 });
    const [a, b] = [0, 1].map(
      (h) => poleStarPlace(latitudeDeg < 0 ? -1 : 1, new Date(Date.UTC(2026, 10, 25, 18 + h)), site).upright,
    ) as [number, number];
    return ((b - a + 18) % 12) - 6;
  };
  test('goes backward in the north and forward in the south, half an hour of the clock\'s face in an hour', () => {
    // The sky turns by 15.041° an hour; a clock's hour has 30°.
    expect(turn(45)).toBeCloseTo(-15.041 / 30, 2);
    expect(turn(-45)).toBeCloseTo(15.041 / 30, 2);
  });
  test('is 12 at upper transit and 9 (north) or 3 (south) six hours later, the west side as one faces the pole', () => {
    for (const latitudeDeg of [50, -35]) {
      const hemisphere = latitudeDeg < 0 ? -1 : 1;
      const site = makeSite({ latitudeDeg, longitudeDeg: 10 });
      const places = Array.from({ length: 1436 }, (_, m) => poleStarPlace(hemisphere, new Date(Date.UTC(2026, 10, 25, 0, m)), site));
      const near = (hours: number): { upright: number; inverting: number } =>
        places.reduce((a, b) => (Math.abs(b.hourAngle - hours * 15 * DEGREE) < Math.abs(a.hourAngle - hours * 15 * DEGREE) ? b : a));
      expect(near(6).upright).toBeCloseTo(hemisphere === 1 ? 9 : 3, 1);
      expect(near(12).upright).toBeCloseTo(6, 1);
      expect(near(6).inverting).toBeCloseTo(hemisphere === 1 ? 3 : 9, 1);
    }
  });
});

test('stretches below zero are found with their ends, open where they reach beyond', () => {
  const hour = 3_600_000;
  const found = stretchesBelow((t) => Math.cos((t.getTime() / hour / 6) * 2 * Math.PI), new Date(2 * hour), new Date(8 * hour));
  expect(found).toHaveLength(2);
  expect(found[0]!.from).toBeNull();
  expect(Math.abs(found[0]!.to!.getTime() - 4.5 * hour)).toBeLessThan(1000);
  expect(Math.abs(found[1]!.from!.getTime() - 7.5 * hour)).toBeLessThan(1000);
  expect(found[1]!.to).toBeNull();
  expect(stretchesBelow(() => 1, new Date(0), new Date(hour))).toEqual([]);
});

test('phases have their usual names', () => {
  expect([0, 45, 90, 135, 180, 225, 270, 315, 359].map((d) => phaseName(d * DEGREE))).toEqual([
    'new', 'waxing crescent', 'first quarter', 'waxing gibbous', 'full', 'waning gibbous', 'last quarter', 'waning crescent', 'new',
  ]);
});
