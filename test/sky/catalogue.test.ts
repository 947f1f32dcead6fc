import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { PolewardError } from '../../src/error.js';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Vector, fromSpherical } from '../../src/geometry/vector.js';
import { type Catalogue, catalogueSigma, parseCatalogue, properMotionScatter } from '../../src/sky/catalogue.js';
import { skyFolders, skyTruth } from '../skies.js';

const bytes = new Uint8Array(readFileSync(new URL('../../src/sky/catalogue/stars.bin', import.meta.url)));
const catalogue = parseCatalogue(bytes);

describe('the embedded catalogue', () => {
  // J2000 places from memory (right ascension, declination in degrees; V).
  test.each([
    ['Polaris', 37.9546, 89.2641, 1.98],
    ['σ Octantis', 317.1952, -88.9565, 5.45],
    ['δ Ursae Minoris', 263.0542, 86.5865, 4.35],
    ['λ Ursae Minoris', 259.2354, 89.0377, 6.38],
    ['Kochab', 222.6764, 74.1555, 2.08],
    ['Dubhe', 165.9320, 61.7510, 1.79],
    ['Canopus', 95.9880, -52.6957, -0.72],
    ['β Hydri', 6.4378, -77.2543, 2.80],
    ['α Centauri A', 219.9021, -60.8340, -0.01],
  ])('has %s', (_, raDeg, decDeg, magnitude) => {
    const { index, arcsec } = nearest(catalogue, raDeg, decDeg);
    expect(arcsec).toBeLessThan(1);
    expect(Math.abs(catalogue.magnitudes[index]! - magnitude)).toBeLessThan(0.25);
  });

  test('has every star of the invented skies but one, within 0.6″', () => {
    // Their places are Tycho-2's, or the bright list's. The exception is β Carinae, V 1.7: they have it where it was in
    // 1991, the catalogue where it was in 2000, which its proper motion of 0.19″ a year puts 1.7″ apart.
    const listed = new Map(skyFolders.flatMap((folder) => skyTruth(folder).frames.flatMap(({ stars }) =>
      stars.map((star) => [`${star.raDeg} ${star.decDeg}`, star] as const))));
    expect(listed.size).toBeGreaterThan(600);
    const astray = [...listed.values()].filter(({ raDeg, decDeg }) => nearest(catalogue, raDeg, decDeg).arcsec > 0.6);
    expect(astray.map(({ vMagnitude }) => vMagnitude)).toEqual([1.67]);
  });

  test('is sorted by magnitude, brightest first', () => {
    expect(catalogue.magnitudes.every((magnitude, i) => i === 0 || magnitude >= catalogue.magnitudes[i - 1]!)).toBe(true);
  });

  test('holds directions of length 1 within 45° of a pole, the faint ones within 12°', () => {
    let longest = 0;
    let widest = 0;
    let faintWidest = 0;
    for (let i = 0; i < catalogue.count; i++) {
      const [x, y, z] = directionOf(catalogue, i);
      longest = Math.max(longest, Math.abs(Math.hypot(x, y, z) - 1));
      const fromPole = Math.acos(Math.abs(z)) / DEGREE;
      widest = Math.max(widest, fromPole);
      if (catalogue.magnitudes[i]! > 9.201) faintWidest = Math.max(faintWidest, fromPole);
    }
    expect(longest).toBeLessThan(1e-12);
    expect(widest).toBeCloseTo(45, 1);
    expect(faintWidest).toBeCloseTo(12, 1);
  });

  test('is as dense as the sky near the poles', () => {
    // Stars a square degree brighter than V, mean of the whole sky: Allen's Astrophysical Quantities (4th ed., table 19.12), in
    // logarithms, from memory to 0.1: V 8: 0.0 (41 000 in the sky), 9: 0.46 (117 000), 10: 0.93 (340 000), 11: 1.36 (900 000).
    // Both poles lie 27° from the galactic plane, where the density is near the mean.
    const capDegrees = (2 * Math.PI * (1 - Math.cos(12 * DEGREE))) / DEGREE ** 2;
    for (const [limit, logarithm] of [[8, 0.0], [9, 0.46], [10, 0.93], [11, 1.36]] as const) {
      for (const hemisphere of [1, -1]) {
        const density = count((z, magnitude) => hemisphere * z > Math.cos(12 * DEGREE) && magnitude < limit) / capDegrees;
        expect(Math.abs(Math.log10(density) - logarithm)).toBeLessThan(0.15);
      }
    }
  });

  test('grows in number with magnitude to 11.5 as the sky does, so nothing is missing before', () => {
    // log N rises by 0.45 ± 0.1 a magnitude around V 10 (the same table); a shortfall shows as a lower slope.
    for (const hemisphere of [1, -1]) {
      const inCap = (limit: number): number => count((z, magnitude) => hemisphere * z > Math.cos(12 * DEGREE) && magnitude < limit);
      for (let limit = 9; limit <= 11; limit += 0.5) {
        expect(Math.log10(inCap(limit + 0.5) / inCap(limit)) / 0.5).toBeGreaterThan(0.35);
      }
    }
  });

  test('holds the bright list\'s rounded places only for the bright stars that Tycho-2 lacks', () => {
    let coarse = 0;
    for (let i = 0; i < catalogue.count; i++) if (catalogue.coarse[i] === 1) coarse++;
    expect(coarse).toBe(158);
    expect(catalogue.coarse[nearest(catalogue, 37.9546, 89.2641).index]).toBe(1);
    expect(catalogue.coarse[nearest(catalogue, 317.1952, -88.9565).index]).toBe(0);
  });

  test('lists no star twice', () => {
    // Tycho-2 here has no two stars within 1″; this is about the bright list's places beside Tycho-2's.
    let closest = Infinity;
    for (let i = 0; i < 400; i++) {
      const a = directionOf(catalogue, i);
      for (let j = i + 1; j < 2000; j++) {
        const b = directionOf(catalogue, j);
        closest = Math.min(closest, Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]));
      }
    }
    expect(closest / ARCSECOND).toBeGreaterThan(1);
  });
});

describe('reading the catalogue', () => {
  test('does not depend on how the bytes lie in memory', () => {
    for (const offset of [1, 2, 3, 4]) {
      const moved = new Uint8Array(bytes.length + offset);
      moved.set(bytes, offset);
      expect(same(parseCatalogue(moved.subarray(offset)), catalogue)).toBe(true);
      expect(same(parseCatalogue(Buffer.from(moved.buffer, offset)), catalogue)).toBe(true);
    }
  });

  test('refuses what is cut short, lengthened or no catalogue, with a sentence', () => {
    const cut = [0, 15, 40, bytes.length - 1].map((length) => bytes.slice(0, length));
    for (const damaged of [...cut, new Uint8Array(2000)]) {
      const error = thrownBy(() => parseCatalogue(damaged));
      expect(error).toBeInstanceOf(PolewardError);
      expect((error as PolewardError).code).toBe('catalogue-broken');
      expect((error as PolewardError).message).toMatch(/^The star catalogue .*\. Install the program again\.$/);
    }
  });

  test('refuses another version, stars out of order and directions longer than 1', () => {
    const change = (at: number, value: number): Uint8Array => {
      const changed = bytes.slice();
      changed[at] = value;
      return changed;
    };
    const { count: stars } = catalogue;
    expect(thrownBy(() => parseCatalogue(change(8, 9)))).toBeInstanceOf(PolewardError);
    expect(thrownBy(() => parseCatalogue(change(16 + 8 * stars + 1, 0xff)))).toBeInstanceOf(PolewardError);
    expect(thrownBy(() => parseCatalogue(change(16 + 3, 0x80)))).toBeInstanceOf(PolewardError);
  });
});

describe('the error of a catalogue place', () => {
  test('is that of J2000 in 2000 and grows with the years either way', () => {
    fc.assert(fc.property(fc.nat(catalogue.count - 1), fc.double({ min: 0, max: 60, noNaN: true }), (index, years) => {
      expect(catalogueSigma(catalogue, index, 0)).toBeCloseTo(catalogue.sigmas[index]!, 15);
      expect(catalogueSigma(catalogue, index, years + 1)).toBeGreaterThan(catalogueSigma(catalogue, index, years));
      expect(catalogueSigma(catalogue, index, -years)).toBe(catalogueSigma(catalogue, index, years));
    }));
  });

  test('at J2000 is 0.02″ to 0.1″ for Tycho-2 alone, more where the two lists disagree', () => {
    const arcsec = catalogue.sigmas.map((sigma) => sigma / ARCSECOND);
    expect(arcsec.every((sigma) => sigma > 0.015)).toBe(true);
    const doubted = arcsec.filter((sigma) => sigma > 0.115).length;
    expect(doubted).toBeGreaterThan(50);
    expect(doubted).toBeLessThan(150);
  });

  test('grows by 8 to 30 mas a year, faster for brighter stars', () => {
    expect(properMotionScatter(3) / ARCSECOND).toBeCloseTo(0.030, 12);
    expect(properMotionScatter(12) / ARCSECOND).toBeCloseTo(0.008, 12);
    for (let v = 0; v < 13; v += 0.1) expect(properMotionScatter(v + 0.1)).toBeLessThanOrEqual(properMotionScatter(v));
  });
});

function directionOf({ directions }: Catalogue, i: number): Vector {
  return [directions[3 * i]!, directions[3 * i + 1]!, directions[3 * i + 2]!];
}

/** Bytewise, because comparing these arrays number by number takes the test library seconds. */
function same(a: Catalogue, b: Catalogue): boolean {
  return (['directions', 'magnitudes', 'coarse', 'sigmas'] as const).every((column) =>
    Buffer.compare(Buffer.from(a[column].buffer), Buffer.from(b[column].buffer)) === 0);
}

function count(wanted: (z: number, magnitude: number) => boolean): number {
  let n = 0;
  for (let i = 0; i < catalogue.count; i++) if (wanted(catalogue.directions[3 * i + 2]!, catalogue.magnitudes[i]!)) n++;
  return n;
}

function nearest({ directions, count: stars }: Catalogue, raDeg: number, decDeg: number): { index: number; arcsec: number } {
  const [x, y, z] = fromSpherical(raDeg * DEGREE, decDeg * DEGREE);
  let index = -1;
  let least = Infinity;
  for (let i = 0; i < stars; i++) {
    const square = (directions[3 * i]! - x) ** 2 + (directions[3 * i + 1]! - y) ** 2 + (directions[3 * i + 2]! - z) ** 2;
    if (square < least) {
      least = square;
      index = i;
    }
  }
  return { index, arcsec: Math.sqrt(least) / ARCSECOND };
}

function thrownBy(action: () => unknown): unknown {
  try {
    action();
  } catch (error) {
    return error;
  }
  return null;
}
