/**
 * Pole stars, darkness and Moon against ERFA 2.0.0: eight sites of both hemispheres, two of them beside the date line. Numbers:
 * testdata/tonight.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { ARCMINUTE, DEGREE, wrapSigned } from '../../src/geometry/angle.js';
import { type Dark, darkness, nightOf } from '../../src/sky/darkness.js';
import { moonPlace } from '../../src/sky/moon.js';
import { poleStarPlace } from '../../src/sky/poleStar.js';
import { type Site, makeSite } from '../../src/sky/site.js';

type Ends = readonly [string, string] | 'all' | 'none' | 'other';
const table = JSON.parse(readFileSync(new URL('../../testdata/tonight/tonight.json', import.meta.url), 'utf8')) as {
  sites: [number, number, number][];
  poleStar: [site: number, utc: string, hours: number, arcmin: number][];
  darkness: [site: number, date: string, sunDown: Ends, nautical: Ends, astronomical: Ends][];
  moon: [site: number, utc: string, lit: number, fromPoleDeg: number, altitudeDeg: number][];
};
const siteOf = (k: number): Site => {
  const [latitudeDeg, longitudeDeg, elevationMetres] = table.sites[k]!;
  return makeSite({ latitudeDeg, longitudeDeg, elevationMetres });
};

describe('the pole star', () => {
  const compared = table.poleStar.map(([k, utc, hours, arcmin]) => {
    const site = siteOf(k);
    const place = poleStarPlace(site.latitude < 0 ? -1 : 1, new Date(utc), site);
    return {
      hours: Math.abs(wrapSigned(place.hourAngle - hours * 15 * DEGREE)) / (15 * DEGREE),
      arcsec: Math.abs(place.distance / ARCMINUTE - arcmin) * 60,
    };
  });
  test('stands at ERFA\'s distance from the pole of date, within 0.5″', () => {
    expect(compared).toHaveLength(64);
    expect(Math.max(...compared.map((c) => c.arcsec))).toBeLessThan(0.5);
  });
  test('stands at ERFA\'s hour angle, within 5 s: a third of an arcsecond on the sky', () => {
    expect(Math.max(...compared.map((c) => c.hours)) * 3600).toBeLessThan(5);
  });
});

describe('darkness', () => {
  const compared = table.darkness.flatMap(([k, date, ...limits]) => {
    const site = siteOf(k);
    const found = darkness(site, nightOf(new Date(`${date}T00:00:00Z`), site, null));
    return ([found.sunDown, found.nautical, found.astronomical] as const).map((ours, i) => ({ ours, theirs: limits[i]! as Ends }));
  });
  const pairs = compared.filter((c): c is { ours: Dark; theirs: readonly [string, string] } => Array.isArray(c.theirs));
  test('begins and ends when ERFA\'s Sun crosses the limit, within 20 s', () => {
    expect(pairs.length).toBeGreaterThan(140);
    for (const { ours, theirs } of pairs) {
      if (ours.kind !== 'from-to') throw new Error(`no darkness where ERFA has ${theirs.join(' to ')}`);
      expect(Math.abs(ours.from.getTime() - Date.parse(theirs[0]))).toBeLessThan(20_000);
      expect(Math.abs(ours.to.getTime() - Date.parse(theirs[1]))).toBeLessThan(20_000);
    }
  });
  test('is missing in summer and lasts in the polar night where ERFA says so', () => {
    const flat = compared.filter(({ theirs }) => theirs === 'none' || theirs === 'all');
    expect(flat.filter(({ theirs }) => theirs === 'none').length).toBeGreaterThan(10);
    for (const { ours, theirs } of flat) expect(ours.kind).toBe(theirs);
  });
});

describe('the Moon', () => {
  const compared = table.moon.map(([k, utc, lit, fromPoleDeg, altitudeDeg]) => {
    const site = siteOf(k);
    const place = moonPlace(site.latitude < 0 ? -1 : 1, new Date(utc), site);
    return {
      lit: Math.abs(place.lit - lit), fromPole: Math.abs(place.fromPole / DEGREE - fromPoleDeg),
      altitude: Math.abs(place.altitude / DEGREE - altitudeDeg),
    };
  });
  test('is lit as ERFA has it, within half a hundredth', () => {
    expect(compared).toHaveLength(64);
    expect(Math.max(...compared.map((c) => c.lit))).toBeLessThan(0.005);
  });
  test('stands at ERFA\'s distance from the pole and altitude, within 0.03°', () => {
    expect(Math.max(...compared.map((c) => c.fromPole))).toBeLessThan(0.03);
    expect(Math.max(...compared.map((c) => c.altitude))).toBeLessThan(0.03);
  });
});
