import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { axisFromPoses } from '../../src/axis/axisFromPoses.js';
import { DEGREE } from '../../src/geometry/angle.js';
import { compose, fromRotationVector, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, angleBetween, fromSpherical } from '../../src/geometry/vector.js';

const direction = fc.tuple(fc.double({ min: -3.1, max: 3.1, noNaN: true }), fc.double({ min: -1.5, max: 1.5, noNaN: true }))
  .map(([longitude, latitude]) => fromSpherical(longitude, latitude));
const turn = fc.oneof(fc.double({ min: 2, max: 170, noNaN: true }), fc.double({ min: -170, max: -2, noNaN: true }));
const pose = fc.tuple(direction, fc.double({ min: 0, max: 3, noNaN: true })).map(([axis, angle]) => rotationAbout(axis, angle));

describe('the axis from poses', () => {
  test('is exact where one rotation made them, whichever way it went', () => {
    fc.assert(fc.property(direction, pose, turn, turn, (axis, pose0, a, b) => {
      const poses = [0, a, b].map((t) => compose(rotationAbout(axis, t * DEGREE), pose0));
      const found = axisFromPoses(poses, axis);
      expect(angleBetween(found.axis, axis)).toBeLessThan(1e-8);
      expect(found.angles[0]).toBe(0);
      expect(found.angles[1]! / DEGREE).toBeCloseTo(a, 6);
      expect(found.angles[2]! / DEGREE).toBeCloseTo(b, 6);
    }));
  });

  test('is given by its end on the side asked for', () => {
    const axis: Vector = fromSpherical(0.3, 1.2);
    const poses = [0, 40].map((t) => rotationAbout(axis, t * DEGREE));
    const other: Vector = [-axis[0], -axis[1], -axis[2]];
    expect(angleBetween(axisFromPoses(poses, other).axis, other)).toBeLessThan(1e-9);
    expect(axisFromPoses(poses, other).angles[1]! / DEGREE).toBeCloseTo(-40, 9);
  });

  test('leans toward the pairs that turned farther', () => {
    const axis: Vector = [0, 0, 1];
    const bump = fromRotationVector([1e-3, 0, 0]);
    // The bump spoils the pair that turned by 3° by far more than the one that turned by 90°.
    const small = axisFromPoses([rotationAbout(axis, 0), compose(rotationAbout(axis, 3 * DEGREE), bump)], axis);
    const both = axisFromPoses(
      [rotationAbout(axis, 0), compose(rotationAbout(axis, 3 * DEGREE), bump), rotationAbout(axis, 90 * DEGREE)], axis,
    );
    expect(angleBetween(both.axis, axis)).toBeLessThan(0.1 * angleBetween(small.axis, axis));
  });

  test('has no rotation where the poses are the same', () => {
    const same = rotationAbout([0.6, 0, 0.8], 0.7);
    expect(axisFromPoses([same, same, same], [0, 0, 1]).largest).toBeLessThan(1e-12);
  });
});
