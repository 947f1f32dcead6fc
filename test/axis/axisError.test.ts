import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { axisError, axisWithError, fromHorizontal, horizontal } from '../../src/axis/axisError.js';
import { ARCMINUTE, DEGREE } from '../../src/geometry/angle.js';
import { angleBetween } from '../../src/geometry/vector.js';

const between = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

describe('altitude and azimuth', () => {
  test('north is azimuth 0, east 90°', () => {
    expect(horizontal([0, 1, 0]).azimuth).toBeCloseTo(0, 12);
    expect(horizontal([1, 0, 0]).azimuth).toBeCloseTo(Math.PI / 2, 12);
    expect(horizontal([0, 0, 1]).altitude).toBeCloseTo(Math.PI / 2, 12);
  });

  test('lead back to the direction they came from', () => {
    fc.assert(fc.property(between(-1.5, 1.5), between(0, 6.28), (altitude, azimuth) => {
      const back = horizontal(fromHorizontal(altitude, azimuth));
      expect(back.altitude).toBeCloseTo(altitude, 10);
      expect(Math.abs(Math.sin((back.azimuth - azimuth) / 2))).toBeLessThan(1e-9);
    }));
  });
});

describe('the error of an axis', () => {
  const north = fromHorizontal(44 * DEGREE, 0);
  const south = fromHorizontal(37 * DEGREE, Math.PI);

  test('is positive in altitude where the axis is too high', () => {
    expect(axisError(fromHorizontal(45 * DEGREE, 0), north).altitude / DEGREE).toBeCloseTo(1, 10);
    expect(axisError(fromHorizontal(36 * DEGREE, Math.PI), south).altitude / DEGREE).toBeCloseTo(-1, 10);
  });

  test('is positive in azimuth where the axis is too far east, in either hemisphere', () => {
    expect(axisError(fromHorizontal(44 * DEGREE, 1 * DEGREE), north).azimuth / DEGREE).toBeCloseTo(1, 10);
    expect(axisError(fromHorizontal(37 * DEGREE, 179 * DEGREE), south).azimuth / DEGREE).toBeCloseTo(1, 10);
    // An axis whose direction has a larger east component stands farther east.
    for (const pole of [north, south]) {
      expect(axisWithError(pole, 0, 30 * ARCMINUTE)[0]).toBeGreaterThan(pole[0]);
      expect(axisWithError(pole, 0, -30 * ARCMINUTE)[0]).toBeLessThan(pole[0]);
    }
  });

  test('in azimuth shrinks on the sky by the cosine of the altitude', () => {
    const axis = axisWithError(fromHorizontal(60 * DEGREE, 0), 0, 10 * ARCMINUTE);
    expect(axisError(axis, fromHorizontal(60 * DEGREE, 0)).separation / ARCMINUTE).toBeCloseTo(5, 3);
  });

  test('is what was put in', () => {
    fc.assert(fc.property(fc.constantFrom(north, south), between(-300, 300), between(-300, 300), (pole, altitude, azimuth) => {
      const axis = axisWithError(pole, altitude * ARCMINUTE, azimuth * ARCMINUTE);
      const error = axisError(axis, pole);
      expect(error.altitude / ARCMINUTE).toBeCloseTo(altitude, 6);
      expect(error.azimuth / ARCMINUTE).toBeCloseTo(azimuth, 6);
      expect(error.separation).toBeCloseTo(angleBetween(axis, pole), 12);
    }));
  });
});
