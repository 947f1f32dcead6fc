/**
 * Magnetic north against the 100 test values published with the World Magnetic Model 2025 (as the package geomagnetism ships them; the
 * site of their publisher can't be reached here), and against another implementation with a copy of the coefficients of its own.
 * Numbers: testdata/magnetic.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { DEGREE, wrapSigned } from '../../src/geometry/angle.js';
import { MAGNETIC_MODEL, magneticNorth } from '../../src/sky/magneticNorth.js';
import { makeSite } from '../../src/sky/site.js';

const text = (name: string): string => readFileSync(new URL(`../../testdata/magnetic/${name}`, import.meta.url), 'utf8');
/** The model counts years by their own length. */
const dateOf = (year: number): Date => {
  const whole = Math.floor(year);
  return new Date(Date.UTC(whole, 0, 1) + (year - whole) * (Date.UTC(whole + 1, 0, 1) - Date.UTC(whole, 0, 1)));
};
const at = (year: number, latitudeDeg: number, longitudeDeg: number, km: number): { declinationDeg: number; horizontal: number } => {
  const north = magneticNorth(dateOf(year), makeSite({ latitudeDeg, longitudeDeg, elevationMetres: 1000 * km }));
  return { declinationDeg: north.declination / DEGREE, horizontal: north.horizontalNanotesla };
};
const apart = (a: number, b: number): number => Math.abs(wrapSigned((a - b) * DEGREE)) / DEGREE;

describe('the declination', () => {
  test('is that of the published test values to their last digit, 0.01°, and the horizontal field to 0.5 nT', () => {
    const rows = text('published.csv').trim().split('\n').slice(1).map((line) => line.split(',').map(Number));
    expect(rows).toHaveLength(100);
    for (const [year, km, latitude, longitude, , , , h, , , d] of rows as number[][]) {
      const ours = at(year!, latitude!, longitude!, km!);
      expect(apart(ours.declinationDeg, d!)).toBeLessThan(0.0061);
      expect(Math.abs(ours.horizontal - h!)).toBeLessThan(0.5);
    }
  });

  test('is that of another implementation at 200 places and dates', () => {
    const { rows } = JSON.parse(text('magvar.json')) as { rows: number[][] };
    expect(rows).toHaveLength(200);
    for (const [year, latitude, longitude, km, d, h] of rows as [number, number, number, number, number, number][]) {
      const ours = at(year, latitude, longitude, km);
      // It gives hundredths of a degree; half a nanotesla across turns a needle by the rest.
      expect(apart(ours.declinationDeg, d)).toBeLessThan(0.0051 + (0.5 / h) / DEGREE);
      expect(Math.abs(ours.horizontal - h)).toBeLessThan(0.5);
    }
  });
});

describe('the model', () => {
  const site = makeSite({ latitudeDeg: 50, longitudeDeg: 10 });
  test('is in force from 2025.0 to 2030.0 and says so, and goes on straight outside', () => {
    expect(MAGNETIC_MODEL.from.toISOString()).toBe('2025-01-01T00:00:00.000Z');
    expect([2024.999, 2025, 2027.5, 2029.999, 2030, 2033].map((y) => magneticNorth(dateOf(y), site).inForce)).toEqual([
      false, true, true, true, false, false,
    ]);
    const [a, b, c] = [2029, 2030, 2031].map((y) => magneticNorth(dateOf(y), site).declination) as [number, number, number];
    expect(b - a).toBeGreaterThan(0);
    expect(Math.abs((c - b) - (b - a)) / (b - a)).toBeLessThan(0.02);
  });

  test('finds a compass useless at the north magnetic dip pole, and unsure around it', () => {
    // WMM2025 puts the north dip pole of 2025 at 85.8° N, 139.3° E (published with the model; from memory).
    expect(magneticNorth(dateOf(2025), makeSite({ latitudeDeg: 85.8, longitudeDeg: 139.3 }))).toMatchObject({ use: 'useless' });
    expect(magneticNorth(dateOf(2025), makeSite({ latitudeDeg: 85.8, longitudeDeg: 139.3 })).horizontalNanotesla).toBeLessThan(100);
    expect(magneticNorth(dateOf(2025), makeSite({ latitudeDeg: 78, longitudeDeg: -110 }))).toMatchObject({ use: 'caution' });
    expect(magneticNorth(dateOf(2025), site)).toMatchObject({ use: 'usable' });
  });

  test('is as unsure as its report says: some tenths of a degree, more where the field is weak', () => {
    expect(magneticNorth(dateOf(2026), site).sigma / DEGREE).toBeCloseTo(0.37, 1);
    expect(magneticNorth(dateOf(2026), makeSite({ latitudeDeg: 78, longitudeDeg: -110 })).sigma / DEGREE).toBeGreaterThan(0.9);
  });
});
