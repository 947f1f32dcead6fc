import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { add, angleBetween, cross, dot, fromSpherical, norm, scale, subtract, toSpherical, unit } from '../../src/geometry/vector.js';
import { direction, farthest, vector } from './arbitraries.js';

describe('vectors', () => {
  it('has a right-handed cross product, at right angles to both', () => {
    expect(cross([1, 0, 0], [0, 1, 0])).toEqual([0, 0, 1]);
    fc.assert(fc.property(vector, vector, (a, b) => {
      const c = cross(a, b);
      expect(Math.abs(dot(c, a))).toBeLessThan(1e-10 * (1 + norm(a) * norm(a) * norm(b)));
      expect(Math.abs(dot(c, b))).toBeLessThan(1e-10 * (1 + norm(a) * norm(b) * norm(b)));
      // Lagrange's identity.
      expect(dot(c, c) + dot(a, b) ** 2).toBeCloseTo(dot(a, a) * dot(b, b), 6);
    }));
  });

  it('subtracts what it added', () => {
    fc.assert(fc.property(vector, vector, (a, b) => {
      expect(farthest(subtract(add(a, b), b), a)).toBeLessThan(1e-13);
    }));
  });

  it('leaves the zero vector without a direction, and gives all others length one', () => {
    expect(unit([0, 0, 0])).toEqual([0, 0, 0]);
    fc.assert(fc.property(direction, fc.double({ min: 1e-6, max: 1e6, noNaN: true }), (d, length) => {
      expect(norm(unit(scale(d, length)))).toBeCloseTo(1, 14);
      expect(farthest(unit(scale(d, length)), d)).toBeLessThan(1e-14);
    }));
  });

  it('measures small angles and angles near half a turn to rounding', () => {
    for (const tiny of [1e-3, 1e-6, 1e-9, 1e-12]) {
      expect(angleBetween([1, 0, 0], [Math.cos(tiny), Math.sin(tiny), 0]) / tiny).toBeCloseTo(1, 12);
      expect((Math.PI - angleBetween([1, 0, 0], [-Math.cos(tiny), Math.sin(tiny), 0])) / tiny).toBeCloseTo(1, 3);
    }
  });

  it('measures the same angle both ways, and no detour is shorter', () => {
    fc.assert(fc.property(direction, direction, direction, (a, b, c) => {
      expect(angleBetween(a, b)).toBeCloseTo(angleBetween(b, a), 14);
      expect(angleBetween(a, c)).toBeLessThanOrEqual(angleBetween(a, b) + angleBetween(b, c) + 1e-12);
    }));
  });

  it('goes from spherical coordinates to a direction and back', () => {
    expect(farthest(fromSpherical(Math.PI / 2, 0), [0, 1, 0])).toBeLessThan(1e-15);
    expect(farthest(fromSpherical(0, Math.PI / 2), [0, 0, 1])).toBeLessThan(1e-15);
    fc.assert(fc.property(
      fc.double({ min: -Math.PI + 1e-9, max: Math.PI, noNaN: true }), fc.double({ min: -1.57, max: 1.57, noNaN: true }),
      (longitude, latitude) => {
        const back = toSpherical(fromSpherical(longitude, latitude));
        expect(back.latitude).toBeCloseTo(latitude, 12);
        expect(Math.abs(back.longitude - longitude) * Math.cos(latitude)).toBeLessThan(1e-12);
      },
    ));
  });
});
