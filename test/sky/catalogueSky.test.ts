import { readFileSync, statSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { PolewardError } from '../../src/error.js';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Vector, angleBetween, fromSpherical } from '../../src/geometry/vector.js';
import { parseCatalogue } from '../../src/sky/catalogue.js';
import { type SkyStars, openSkyCatalogue } from '../../src/sky/catalogueSky.js';
import { CELLS, cellsAround } from '../../src/sky/catalogue/cells.js';

const folder = new URL('../../src/sky/catalogue/', import.meta.url);
const bytes = new Uint8Array(readFileSync(new URL('sky.bin', folder)));
const near = parseCatalogue(readFileSync(new URL('stars.bin', folder)));
const sky = openSkyCatalogue(bytes, near);
const everywhere = Int32Array.from({ length: CELLS }, (_, cell) => cell);
const all = sky.collect(everywhere, Infinity, 0);

describe('the catalogue of the whole sky', () => {
  // J2000 places from memory (right ascension, declination in degrees; V).
  test.each([
    ['Sirius', 101.2872, -16.7161, -1.44],
    ['Vega', 279.2347, 38.7837, 0.03],
    ['Arcturus', 213.9153, 19.1824, -0.05],
    ['Rigel', 78.6345, -8.2016, 0.18],
    ['α Centauri A', 219.9021, -60.8340, -0.01],
    ['Polaris', 37.9546, 89.2641, 1.98],
    ['61 Cygni A', 316.7247, 38.7494, 5.2],
    ['δ Orionis', 83.0017, -0.2991, 2.25],
  ])('has %s', (_, raDeg, decDeg, magnitude) => {
    const { star, arcsec } = nearest(all, fromSpherical(raDeg * DEGREE, decDeg * DEGREE));
    expect(arcsec).toBeLessThan(1.5);
    expect(Math.abs(all.magnitudes[star]! - magnitude)).toBeLessThan(0.35);
  });

  test('moves the bright fast stars, and says how sure it is of them', () => {
    // Proper motions from memory, milliarcseconds a year in right ascension (times the cosine) and declination.
    for (const [raDeg, decDeg, east, north] of [
      [213.9153, 19.1824, -1093, -1999], [219.9021, -60.8340, -3678, 482], [114.8255, 5.2250, -717, -1035],
    ] as const) {
      const years = 26;
      const place = fromSpherical(raDeg * DEGREE, decDeg * DEGREE);
      const later = sky.collect(cellsAround(place, 0.2 * DEGREE), 4, years);
      const dec = decDeg * DEGREE + north * 1e-3 * ARCSECOND * years;
      const moved = fromSpherical(raDeg * DEGREE + (east * 1e-3 * ARCSECOND * years) / Math.cos(decDeg * DEGREE), dec);
      const { star, arcsec } = nearest(later, moved);
      const sigma = sky.sigma(later.numbers[star]!, later.magnitudes[star]!, years) / ARCSECOND;
      expect(sigma).toBeLessThan(0.6);
      expect(arcsec).toBeLessThan(3 * Math.SQRT2 * sigma);
      // Where it was in 2000 it is more than 10″ from that.
      expect(angleBetween(place, moved) / ARCSECOND).toBeGreaterThan(10);
    }
  });

  test('says that the place of a bright star whose motion neither list gives is not known: Sirius', () => {
    const place = fromSpherical(101.2872 * DEGREE, -16.7161 * DEGREE);
    const later = sky.collect(cellsAround(place, 0.1), 0, 26);
    expect(later.count).toBe(1);
    // 1.34″ a year, from memory.
    const sigma = sky.sigma(later.numbers[0]!, later.magnitudes[0]!, 26) / ARCSECOND;
    expect((1.34 * 26) / sigma).toBeLessThan(3);
    expect(sigma).toBeLessThan(60);
  });

  test('has twenty-one stars a square degree, as the table it is from', () => {
    expect(all.count / ((4 * Math.PI) / DEGREE ** 2)).toBeCloseTo(21, 0);
  });

  test('has the stars near the poles as the polar catalogue has them', () => {
    const numbers = new Set(all.numbers);
    for (let i = 0; i < near.count; i++) if (!numbers.has(i)) throw new Error(`star ${i} is missing`);
    const polar = all.numbers.findIndex((n) => n < near.count && near.magnitudes[n]! > 11);
    const n = all.numbers[polar]!;
    expect([...all.directions.subarray(3 * polar, 3 * polar + 3)]).toEqual([...near.directions.subarray(3 * n, 3 * n + 3)]);
  });

  test('is complete to V 11: each magnitude has as many more stars as the sky has', () => {
    // log N rises by 0.45 ± 0.1 a magnitude around V 10 (Allen's Astrophysical Quantities, 4th ed., table 19.12, from memory).
    const below = (limit: number): number => all.magnitudes.filter((m) => m < limit).length;
    for (const limit of [8, 9, 10]) expect(Math.abs(Math.log10(below(limit + 0.99) / below(limit - 0.01)) - 0.45)).toBeLessThan(0.1);
  });

  test('is in order of brightness to a hundredth of a magnitude, with directions of length 1 and no number twice', () => {
    let longest = 0;
    for (let n = 0; n < all.count; n++) {
      const [x, y, z] = all.directions.subarray(3 * n, 3 * n + 3);
      longest = Math.max(longest, Math.abs(Math.hypot(x!, y!, z!) - 1));
      if (n > 0 && all.magnitudes[n]! < all.magnitudes[n - 1]! - 0.0101) throw new Error(`star ${n} is out of order`);
    }
    expect(longest).toBeLessThan(1e-12);
    expect(new Set(all.numbers).size).toBe(all.count);
  });

  test('gives only what is asked for: cells and magnitudes', () => {
    const centre = fromSpherical(1, -0.4);
    const some = sky.collect(cellsAround(centre, 3 * DEGREE), 9, 0);
    const wanted = indices(all).filter((n) => all.magnitudes[n]! <= 9 && angleBetween(directionOf(all, n), centre) < 3 * DEGREE);
    const got = new Set(some.numbers);
    expect(wanted.length).toBeGreaterThan(20);
    expect(wanted.every((n) => got.has(all.numbers[n]!))).toBe(true);
    expect(Math.max(...some.magnitudes)).toBeLessThanOrEqual(9);
    expect(indices(some).every((n) => angleBetween(directionOf(some, n), centre) < 5 * DEGREE)).toBe(true);
  });

  test('and the polar one take at most 4.5 megabytes together', () => {
    expect(statSync(new URL('sky.bin', folder)).size + statSync(new URL('stars.bin', folder)).size).toBeLessThan(4.5e6);
  });

  test('is refused with a sentence where it is damaged', () => {
    const changed = (at: number, value: number): Uint8Array => {
      const copy = bytes.slice();
      copy[at] = value;
      return copy;
    };
    const damaged = [
      new Uint8Array(0), bytes.slice(0, 20), bytes.slice(0, -1),
      changed(0, 0), changed(8, 9), changed(12, 1), changed(bytes.length - CELLS - 1, 200),
    ];
    for (const file of damaged) {
      expect(() => openSkyCatalogue(file, near)).toThrow(PolewardError);
      expect(() => openSkyCatalogue(file, near)).toThrow(/^The catalogue of the whole sky .*\. Install the program again\.$/);
    }
  });
});

function indices(stars: SkyStars): number[] {
  return Array.from({ length: stars.count }, (_, n) => n);
}

function directionOf({ directions }: SkyStars, n: number): Vector {
  return [directions[3 * n]!, directions[3 * n + 1]!, directions[3 * n + 2]!];
}

function nearest(stars: SkyStars, [x, y, z]: Vector): { star: number; arcsec: number } {
  let star = -1;
  let least = Infinity;
  for (let n = 0; n < stars.count; n++) {
    const square = (stars.directions[3 * n]! - x) ** 2 + (stars.directions[3 * n + 1]! - y) ** 2 + (stars.directions[3 * n + 2]! - z) ** 2;
    if (square < least) {
      least = square;
      star = n;
    }
  }
  return { star, arcsec: Math.sqrt(least) / ARCSECOND };
}
