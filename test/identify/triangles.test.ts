import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { apply } from '../../src/geometry/rotation.js';
import { type Vector, angleBetween, unit } from '../../src/geometry/vector.js';
import { makeRandom } from '../../src/simulate/random.js';
import { makeStarGrid } from '../../src/identify/starGrid.js';
import { type Triangle, buildTriangleIndex, describeTriangle, emptyTriangle, findTriangles } from '../../src/identify/triangles.js';
import { rotation } from '../geometry/arbitraries.js';

const offset = fc.integer({ min: -50_000, max: 50_000 }).map((n) => n / 1e6);
/** Three directions within a few degrees of z. */
const corners = fc.tuple(...Array.from({ length: 3 }, () => fc.tuple(offset, offset)))
  .map((list) => list.map(([x, y]): Vector => unit([x, y, 1])))
  .filter((stars) => describeAll(stars) !== null);

function describeAll(stars: readonly Vector[], order = [0, 1, 2]): Triangle | null {
  const out = emptyTriangle();
  return describeTriangle(Float64Array.from(stars.flat()), order[0]!, order[1]!, order[2]!, 1e-4, 1, out) ? { ...out } : null;
}

describe('triangles', () => {
  it('look the same from every side and in any order of their stars', () => {
    fc.assert(fc.property(corners, rotation, (stars, turn) => {
      const seen = describeAll(stars);
      const turned = describeAll(stars.map((s) => apply(turn, s)))!;
      expect(turned.middle).toBeCloseTo(seen!.middle, 9);
      expect(turned.short).toBeCloseTo(seen!.short, 9);
      expect(turned.side).toBeCloseTo(seen!.side, 12);
      expect([turned.a, turned.b, turned.c, turned.handedness]).toEqual([seen!.a, seen!.b, seen!.c, seen!.handedness]);
      for (const order of [[0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]]) expect(describeAll(stars, order)).toEqual(seen);
    }));
  });

  it('keep their shape when they grow', () => {
    fc.assert(fc.property(corners, fc.double({ min: 0.3, max: 1, noNaN: true }), (stars, factor) => {
      const seen = describeAll(stars);
      fc.pre(seen!.side > 1e-3);
      const grown = describeAll(stars.map(([x, y, z]) => unit([(x / z) * factor, (y / z) * factor, 1])));
      // Chords on a sphere and lengths in its tangent plane differ by the square of 0.07 rad.
      fc.pre(grown !== null);
      expect(grown!.side / seen!.side).toBeCloseTo(factor, 1);
      expect(Math.abs(grown!.middle - seen!.middle)).toBeLessThan(0.006);
      expect(Math.abs(grown!.short - seen!.short)).toBeLessThan(0.006);
    }));
  });

  it('change their handedness in a mirror, nothing else', () => {
    fc.assert(fc.property(corners, (stars) => {
      const seen = describeAll(stars);
      const mirrored = describeAll(stars.map(([x, y, z]): Vector => [-x, y, z]))!;
      expect(mirrored.handedness).toBe(-seen!.handedness);
      expect({ ...mirrored, handedness: 0 }).toEqual({ ...seen!, handedness: 0 });
    }));
  });

  it('have the longest side opposite their first star', () => {
    fc.assert(fc.property(corners, (stars) => {
      const t = describeAll(stars);
      const side = (i: number, j: number): number => 2 * Math.sin(angleBetween(stars[i]!, stars[j]!) / 2);
      expect(t!.side).toBeCloseTo(side(t!.b, t!.c), 9);
      expect(t!.middle * t!.side).toBeCloseTo(side(t!.a, t!.c), 9);
      expect(t!.short * t!.side).toBeCloseTo(side(t!.a, t!.b), 9);
    }));
  });

  it('are not made of thin or nearly isosceles ones, or sides out of range', () => {
    expect(describeAll([unit([0, 0, 1]), unit([0.05, 0, 1]), unit([0.001, 0.001, 1])])).toBeNull();
    expect(describeAll([unit([-0.02, 0, 1]), unit([0.02, 0, 1]), unit([0, 0.05, 1])])).toBeNull();
    const out = emptyTriangle();
    const good = Float64Array.from([unit([0, 0, 1]), unit([0.05, 0, 1]), unit([0.01, 0.02, 1])].flat());
    expect(describeTriangle(good, 0, 1, 2, 0.01, 0.1, out)).toBe(true);
    expect(describeTriangle(good, 0, 1, 2, 0.06, 0.1, out)).toBe(false);
    expect(describeTriangle(good, 0, 1, 2, 0.01, 0.04, out)).toBe(false);
  });

  it('are found by shape: exactly those that a comparison with all of them finds', () => {
    const random = makeRandom('triangles');
    const count = 300;
    const places = Array.from({ length: count }, () => unit([0.1 * random.normal(), 0.1 * random.normal(), 1]));
    const directions = Float64Array.from(places.flat());
    const index = buildTriangleIndex(directions, count, makeStarGrid(directions, count, 0.05), 0.01, 0.05, 7);
    expect(index.count).toBeGreaterThan(500);
    const out = new Int32Array(index.count);
    const t = emptyTriangle();
    for (let n = 0; n < index.count; n += 37) {
      const [a, b, c] = index.stars.subarray(3 * n, 3 * n + 3);
      expect(describeTriangle(directions, a!, b!, c!, 0.01, 0.05, t)).toBe(true);
      expect([t.a, t.b, t.c]).toEqual([a, b, c]);
      const found = out.slice(0, findTriangles(index, t, 0.02, 1.3, out));
      const all = Array.from({ length: index.count }, (_, k) => k).filter((k) => {
        const [middle, short, side] = index.shapes.subarray(3 * k, 3 * k + 3);
        const ratio = Math.abs(side!) / t.side;
        return Math.abs(middle! - t.middle) < 0.02 && Math.abs(short! - t.short) < 0.02 && ratio < 1.3 && ratio > 1 / 1.3;
      });
      expect([...found].sort((x, y) => x - y)).toEqual(all);
      expect(all).toContain(n);
    }
  });

  it('stop where the list of hits is full', () => {
    const places: Vector[] = [[0, 0, 1], [0.03, 0, 1], [0.01, 0.02, 1], [0.02, -0.015, 1], [-0.01, 0.012, 1]];
    const directions = Float64Array.from(places.flatMap(unit));
    const index = buildTriangleIndex(directions, 5, makeStarGrid(directions, 5, 0.1), 0.001, 0.1, 4);
    const t = { ...emptyTriangle(), middle: 0.5, short: 0.5, side: 0.03 };
    expect(findTriangles(index, t, 1, 100, new Int32Array(2))).toBe(2);
    expect(findTriangles(index, t, 1, 100, new Int32Array(1000))).toBe(index.count);
  });
});
