import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { type Vector, angleBetween, dot, fromSpherical } from '../../src/geometry/vector.js';
import { CELLS, CELL_REACH, cellAxes, cellOf, cellsAround } from '../../src/sky/catalogue/cells.js';

const direction = fc.tuple(fc.double({ min: 0, max: 360, noNaN: true }), fc.double({ min: -90, max: 90, noNaN: true }))
  .map(([ra, dec]) => fromSpherical(ra * DEGREE, dec * DEGREE));

describe('cells of the sky', () => {
  test('hold the directions that are nearer to their middle than a cell reaches', () => {
    fc.assert(fc.property(direction, (d) => {
      const cell = cellOf(...d);
      expect(cell).toBeGreaterThanOrEqual(0);
      expect(cell).toBeLessThan(CELLS);
      expect(angleBetween(d, cellAxes(cell).middle)).toBeLessThan(CELL_REACH);
    }), { numRuns: 2000 });
  });

  test('have their middle in themselves, and axes at right angles', () => {
    for (let cell = 0; cell < CELLS; cell += 17) {
      const { middle, east, north } = cellAxes(cell);
      expect(cellOf(...middle)).toBe(cell);
      for (const [a, b] of [[middle, east], [middle, north], [east, north]] as const) expect(Math.abs(dot(a, b))).toBeLessThan(1e-12);
    }
  });

  test('around any direction are all of them within half a turn', () => {
    for (const centre of [[1, 0, 0], [0, 0, 1], fromSpherical(2, -0.4), fromSpherical(5, 1.57)] as Vector[]) {
      expect(cellsAround(centre, Math.PI)).toHaveLength(CELLS);
    }
  });

  test('around a direction are all that reach into the circle, each once', () => {
    const away = fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0, max: 360, noNaN: true }));
    fc.assert(fc.property(direction, fc.double({ min: 0.001, max: Math.PI, noNaN: true }), away, (centre, radius, [share, turn]) => {
      const cells = cellsAround(centre, radius);
      expect(new Set(cells).size).toBe(cells.length);
      const inside = aside(centre, share * radius, turn * DEGREE);
      expect(cells.includes(cellOf(...inside))).toBe(true);
    }), { numRuns: 300 });
  });
});

/** A direction some way from another, to any side. */
function aside([x, y, z]: Vector, angle: number, turn: number): Vector {
  const longitude = Math.atan2(y, x), latitude = Math.atan2(z, Math.hypot(x, y));
  const east: Vector = [-Math.sin(longitude), Math.cos(longitude), 0];
  const north: Vector = [-Math.sin(latitude) * Math.cos(longitude), -Math.sin(latitude) * Math.sin(longitude), Math.cos(latitude)];
  const [c, e, n] = [Math.cos(angle), Math.sin(angle) * Math.sin(turn), Math.sin(angle) * Math.cos(turn)];
  return [c * x + e * east[0] + n * north[0], c * y + e * east[1] + n * north[1], c * z + e * east[2] + n * north[2]];
}
