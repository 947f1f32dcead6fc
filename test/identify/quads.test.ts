import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fromRotationVector, apply } from '../../src/geometry/rotation.js';
import { type Vector, angleBetween, unit } from '../../src/geometry/vector.js';
import { findLike, makeFrameQuads } from '../../src/identify/frameQuads.js';
import { quadChoices } from '../../src/identify/quadChoices.js';
import { type Quad, describeQuad, emptyChords, emptyQuad, measureChords } from '../../src/identify/quads.js';
import { CODE_NUMBERS, makeQuadMaker, quadsOf } from '../../src/identify/skyQuads.js';
import { makeSphereGrid, sphereAngles } from '../../src/identify/sphereGrid.js';
import { makeRandom } from '../../src/simulate/random.js';
import type { SkyStars } from '../../src/sky/catalogueSky.js';
import { quadStars } from './quadStars.js';

const coordinate = fc.integer({ min: -2000, max: 2000 }).map((n) => n / 1e4);
const place = fc.tuple(coordinate, coordinate);
const four = fc.array(place, { minLength: 4, maxLength: 4 });
const turn = fc.tuple(...[0, 1, 2].map(() => fc.double({ min: -3, max: 3, noNaN: true }))) as fc.Arbitrary<[number, number, number]>;

/** Stars of which no two are in one place, and no two pairs are the farthest apart. */
function distinct(stars: readonly Vector[]): boolean {
  const apart = stars.flatMap((a, i) => stars.slice(i + 1).map((b) => angleBetween(a, b))).sort((a, b) => a - b);
  return apart[0]! > 1e-4 && apart[5]! - apart[4]! > 1e-6;
}

function describe4(directions: readonly Vector[]): Quad | null {
  const flat = Float64Array.from(directions.flat());
  const chords = emptyChords(4);
  measureChords(flat, [0, 1, 2, 3], 4, chords);
  const quad = emptyQuad();
  return describeQuad(flat, [0, 1, 2, 3], chords, 0, 1, 2, 3, 0.02, 2, quad) ? quad : null;
}

describe('the description of four stars', () => {
  it('has A at (-1, 0) and B at (1, 0): a square over its diagonal has C and D at (0, ±1)', () => {
    const t = 0.02;
    const quad = describe4([unit([-t, 0, 1]), unit([0, -t * 0.999, 1]), unit([t, 0, 1]), unit([0, t * 0.999, 1])])!;
    expect([quad.a, quad.b].sort()).toEqual([0, 2]);
    expect(Math.abs(quad.cx) + Math.abs(quad.dx)).toBeLessThan(1e-3);
    expect(Math.abs(quad.cy)).toBeCloseTo(0.999, 3);
    expect(quad.dy).toBeCloseTo(-quad.cy, 6);
  });

  it('stays the same when the sky is turned, whatever the order of the stars', () => {
    fc.assert(fc.property(four, turn, fc.integer({ min: 0, max: 3 }), (places, w, shift) => {
      const stars = places.map(([x, y]): Vector => unit([x, y, 1]));
      const quad = describe4(stars);
      fc.pre(distinct(stars) && quad !== null && quad.dx - quad.cx > 1e-6 && -quad.cx - quad.dx > 1e-6);
      const rotation = fromRotationVector(w);
      const other = describe4(stars.map((_, i) => apply(rotation, stars[(i + shift) % 4]!)))!;
      for (const key of ['cx', 'cy', 'dx', 'dy', 'side'] as const) expect(other[key]).toBeCloseTo(quad[key], 8);
      for (const key of ['a', 'b', 'c', 'd'] as const) expect((other[key] + shift) % 4).toBe(quad[key]);
    }));
  });

  it('is that of the picture in a mirror but for the sign of cy and dy', () => {
    fc.assert(fc.property(four, (places) => {
      const stars = places.map(([x, y]): Vector => unit([x, y, 1]));
      const quad = describe4(stars);
      fc.pre(distinct(stars) && quad !== null && quad.dx - quad.cx > 1e-6 && -quad.cx - quad.dx > 1e-6);
      const other = describe4(stars.map(([x, y, z]) => [-x, y, z]))!;
      expect([other.cx, other.cy, other.dx, other.dy].map((v) => v.toFixed(9)))
        .toEqual([quad.cx, -quad.cy || 0, quad.dx, -quad.dy || 0].map((v) => v.toFixed(9)));
    }));
  });
});

/** Stars all over the sphere, or around one direction. */
function someStars(count: number, within: number, seed: string): SkyStars {
  const random = makeRandom(seed);
  const directions = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) {
    const spread: Vector = [within * random.normal(), within * random.normal(), within >= 9 ? within * random.normal() : 1];
    directions.set(unit(spread), 3 * i);
  }
  return { count, directions, numbers: Int32Array.from({ length: count }, (_, i) => i), magnitudes: new Float32Array(count) };
}

describe('cells on the sphere', () => {
  it('have all neighbours within reach in the ranges around a cell', () => {
    fc.assert(fc.property(fc.integer({ min: 0, max: 1000 }), fc.double({ min: 0.02, max: 3, noNaN: true }), (seed, reach) => {
      const { directions, count } = someStars(150, 9, `grid ${seed}`);
      const grid = makeSphereGrid(sphereAngles(directions, count), count, reach);
      for (let i = 0; i < count; i += 7) {
        const ranges = grid.around(grid.cellOf[i]!);
        const near = new Set<number>();
        for (let r = 0; r < ranges.length; r += 2) for (let m = ranges[r]!; m < ranges[r + 1]!; m++) near.add(grid.members[m]!);
        for (let j = 0; j < count; j++) {
          const cosine = [0, 1, 2].reduce((sum, k) => sum + directions[3 * i + k]! * directions[3 * j + k]!, 0);
          if (cosine > Math.cos(0.999 * reach)) expect(near.has(j)).toBe(true);
        }
      }
    }), { numRuns: 60 });
  });
});

describe('the quads of the sky', () => {
  it('have their stars in the order of their description, and are found among those of a frame that shows them', () => {
    const chosen = quadStars(someStars(400, 0.1, 'index'), 0.1, { starsPerCell: 30, tried: 100_000 });
    const maker = makeQuadMaker(chosen);
    const hits = new Int32Array(64);
    let looked = 0;
    for (let star = 0; star < chosen.count; star += 3) {
      const made = quadsOf(maker, star, chosen.grid.around(chosen.grid.cellOf[chosen.rank[star]!]!));
      for (let q = 0; q < made; q += 37) {
        const four = [...maker.stars.subarray(4 * q, 4 * q + 4)];
        const directions = four.map((s): Vector => [...chosen.directions.subarray(3 * s, 3 * s + 3)] as unknown as Vector);
        const quad = describe4(directions)!;
        expect([quad.a, quad.b, quad.c, quad.d]).toEqual([0, 1, 2, 3]);
        const [cx, cy, dx, dy, side] = maker.codes.subarray(CODE_NUMBERS * q, CODE_NUMBERS * q + CODE_NUMBERS);
        [quad.cx, quad.cy, quad.dx, quad.dy, quad.side].forEach((value, k) => expect([cx, cy, dx, dy, side][k]).toBeCloseTo(value, 12));
        // Spots in another order, seen in a mirror.
        const seen = [3, 1, 0, 2].map((k) => directions[k]!).flatMap(([x, y, z]) => [-x, y, z]);
        const frame = makeFrameQuads(Float64Array.from(seen), quadChoices([{ spots: Int32Array.of(7, 1, 9, 4), from: 0 }]), {
          shortest: 0.01, longest: 0.06, tolerance: 0.01, spotError: 1e-6, parities: [false, true],
        });
        const count = findLike(frame, cx!, cy!, dx!, dy!, 0.01, 0.06, hits);
        const ends = [...hits.subarray(0, count)].map((entry) => [...frame.ends.subarray(3 * entry, 3 * entry + 3)]);
        expect(ends).toContainEqual([2, 1, 1]);
        looked++;
      }
    }
    expect(looked).toBeGreaterThan(100);
  });

  it('are found within the tolerance, and not beyond twice of it', () => {
    fc.assert(fc.property(four, fc.double({ min: 0, max: 6.28, noNaN: true }), (places, toward) => {
      const stars = places.map(([x, y]): Vector => unit([x, y, 1]));
      const quad = describe4(stars);
      fc.pre(distinct(stars) && quad !== null);
      const { cx, cy, dx, dy } = quad!;
      const frame = makeFrameQuads(Float64Array.from(stars.flat()), quadChoices([{ spots: Int32Array.of(0, 1, 2, 3), from: 0 }]), {
        shortest: 0.02, longest: 2, tolerance: 0.01, spotError: 0, parities: [false],
      });
      const hits = new Int32Array(16);
      const near = (step: number): number =>
        findLike(frame, cx + step * Math.cos(toward), cy + step * Math.sin(toward), dx, dy, 0.02, 2, hits);
      expect(near(0.0099)).toBeGreaterThan(0);
      fc.pre(dx - cx > 0.1 && -cx - dx > 0.1);
      expect(near(0.0201)).toBe(0);
    }));
  });

  it('are of no more stars than asked for of each part of the sky, the brightest ones', () => {
    const stars = someStars(5000, 9, 'spread');
    const chosen = quadStars(stars, 0.8, { starsPerCell: 5, tried: 100_000 });
    const square = 0.4 ** 2;
    expect(chosen.count).toBeLessThan(1.3 * 5 * ((4 * Math.PI) / square));
    expect(chosen.count).toBeGreaterThan(0.5 * 5 * ((4 * Math.PI) / square));
    const brightest = `${stars.directions.subarray(0, 3)}`;
    expect(Array.from({ length: chosen.count }, (_, i) => `${chosen.directions.subarray(3 * i, 3 * i + 3)}`)).toContain(brightest);
  });
});
