import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  IDENTITY, type Rotation, apply, axisAndAngle, compose, fromRotationVector, inverse, orthonormalize, rotationAbout,
} from '../../src/geometry/rotation.js';
import { angleBetween, cross, dot, norm, scale } from '../../src/geometry/vector.js';
import { direction, farthest, rotation, vector } from './arbitraries.js';

function determinant(r: Rotation): number {
  return dot([r[0], r[1], r[2]], cross([r[3], r[4], r[5]], [r[6], r[7], r[8]]));
}

describe('rotations', () => {
  it('turns x toward y about z by a positive angle', () => {
    expect(farthest(apply(rotationAbout([0, 0, 1], Math.PI / 2), [1, 0, 0]), [0, 1, 0])).toBeLessThan(1e-15);
  });

  it('forms a group: associative, with identity and inverse', () => {
    fc.assert(fc.property(rotation, rotation, rotation, vector, (a, b, c, v) => {
      expect(farthest(compose(compose(a, b), c), compose(a, compose(b, c)))).toBeLessThan(1e-14);
      expect(farthest(compose(a, inverse(a)), IDENTITY)).toBeLessThan(1e-14);
      expect(farthest(compose(IDENTITY, a), a)).toBe(0);
      expect(farthest(inverse(compose(a, b)), compose(inverse(b), inverse(a)))).toBeLessThan(1e-14);
      expect(farthest(apply(compose(a, b), v), apply(a, apply(b, v)))).toBeLessThan(1e-13);
    }));
  });

  it('keeps lengths, angles and handedness', () => {
    fc.assert(fc.property(rotation, direction, direction, (r, a, b) => {
      expect(norm(apply(r, a))).toBeCloseTo(1, 14);
      expect(angleBetween(apply(r, a), apply(r, b))).toBeCloseTo(angleBetween(a, b), 7);
      expect(determinant(r)).toBeCloseTo(1, 13);
    }));
  });

  it('leaves its own axis where it is, and adds angles about one axis', () => {
    fc.assert(fc.property(direction, fc.double({ min: -3, max: 3, noNaN: true }), fc.double({ min: -3, max: 3, noNaN: true }), (
      axis, a, b,
    ) => {
      expect(farthest(apply(rotationAbout(axis, a), axis), axis)).toBeLessThan(1e-14);
      expect(farthest(compose(rotationAbout(axis, a), rotationAbout(axis, b)), rotationAbout(axis, a + b))).toBeLessThan(1e-14);
    }));
  });

  it('finds axis and angle again, from a billionth of a radian to within a billionth of half a turn', () => {
    const angle = fc.oneof(
      fc.double({ min: 1e-9, max: 1e-3, noNaN: true }), fc.double({ min: 1e-3, max: Math.PI - 1e-3, noNaN: true }),
      fc.double({ min: 1e-9, max: 1e-3, noNaN: true }).map((x) => Math.PI - x),
    );
    fc.assert(fc.property(direction, angle, (axis, a) => {
      const found = axisAndAngle(rotationAbout(axis, a));
      expect(Math.abs(found.angle - a)).toBeLessThan(1e-14 + 1e-15 * a);
      // An axis is known as well as rounding of the matrix (1e-16) compares with what the turn moves.
      expect(angleBetween(found.axis, axis)).toBeLessThan(1e-14 + 1e-15 / Math.min(a, 1));
    }), { numRuns: 300 });
  });

  it('finds half a turn about any axis, up to the sign of the axis', () => {
    fc.assert(fc.property(direction, (axis) => {
      const found = axisAndAngle(rotationAbout(axis, Math.PI));
      expect(found.angle).toBeCloseTo(Math.PI, 14);
      expect(Math.abs(dot(found.axis, axis))).toBeCloseTo(1, 14);
    }));
  });

  it('gives no turn the angle zero and an axis of length one', () => {
    expect(axisAndAngle(IDENTITY).angle).toBe(0);
    expect(norm(axisAndAngle(IDENTITY).axis)).toBe(1);
  });

  it('makes the same turn from a rotation vector as from axis and angle', () => {
    expect(fromRotationVector([0, 0, 0])).toEqual(IDENTITY);
    fc.assert(fc.property(direction, fc.double({ min: 1e-12, max: 3, noNaN: true }), (axis, a) => {
      expect(farthest(fromRotationVector(scale(axis, a)), rotationAbout(axis, a))).toBeLessThan(1e-14);
    }));
  });

  it('straightens a bent matrix and leaves a rotation alone', () => {
    fc.assert(fc.property(rotation, fc.array(
      fc.double({ min: -1e-4, max: 1e-4, noNaN: true }), { minLength: 9, maxLength: 9 },
    ), (r, bend) => {
      expect(farthest(orthonormalize(r), r)).toBeLessThan(1e-14);
      const straight = orthonormalize(r.map((x, i) => x + bend[i]!) as unknown as Rotation);
      expect(farthest(compose(straight, inverse(straight)), IDENTITY)).toBeLessThan(1e-14);
      expect(determinant(straight)).toBeCloseTo(1, 13);
      expect(farthest(straight, r)).toBeLessThan(1e-3);
    }));
  });
});

it('a rotation vector of no length to speak of is no rotation', () => {
  for (const tiny of [5e-324, 1e-310, 1e-301]) expect(fromRotationVector([0, 0, tiny])).toEqual([1, 0, 0, 0, 1, 0, 0, 0, 1]);
});
