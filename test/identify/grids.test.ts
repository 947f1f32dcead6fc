import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { unit } from '../../src/geometry/vector.js';
import { makePlaceGrid, nearestPlace } from '../../src/identify/placeGrid.js';
import { makeSpots } from '../../src/identify/spots.js';
import { spreadOut } from '../../src/identify/spotOrder.js';
import { makeStarGrid, starsAround } from '../../src/identify/starGrid.js';
import { makeRandom } from '../../src/simulate/random.js';

const WIDTH = 640, HEIGHT = 480;

describe('cells of places', () => {
  it('find the nearest place within the radius, as a comparison with all of them does', () => {
    const place = fc.tuple(fc.integer({ min: -20, max: WIDTH + 20 }), fc.integer({ min: -20, max: HEIGHT + 20 }));
    const lengths = [fc.integer({ min: 1, max: 200 }), fc.integer({ min: 1, max: 300 })] as const;
    fc.assert(fc.property(fc.array(place, { maxLength: 60 }), place, ...lengths, (places, [x, y], radius, cell) => {
      const inside = places.map(([px, py]) => px >= 0 && py >= 0 && px <= WIDTH && py <= HEIGHT);
      const grid = makePlaceGrid(Float64Array.from(places, (p) => p[0]), Float64Array.from(places, (p) => p[1]), WIDTH, HEIGHT, cell);
      const found = nearestPlace(grid, x, y, radius);
      const distances = places.map(([px, py], i) => (inside[i] ? Math.hypot(px - x, py - y) : Infinity));
      const best = Math.min(...distances, Infinity);
      if (best >= radius) expect(found).toBe(-1);
      else expect(distances[found]).toBe(best);
    }), { numRuns: 300 });
  });
});

describe('cells of stars', () => {
  it('hold every neighbour within one cell in the 3×3 cells around a star', () => {
    const random = makeRandom('cells');
    const count = 400;
    const stars = Array.from({ length: count }, () => unit([0.4 * random.normal(), 0.4 * random.normal(), 1]));
    const grid = makeStarGrid(Float64Array.from(stars.flat()), count, 0.1);
    for (let i = 0; i < count; i += 7) {
      const around = starsAround(grid, grid.cellOf[i]!);
      expect([...around]).toEqual([...around].sort((a, b) => a - b));
      stars.forEach((s, j) => {
        if (Math.hypot(s[0] - stars[i]![0], s[1] - stars[i]![1], s[2] - stars[i]![2]) < 0.1) expect(around).toContain(j);
      });
    }
  });
});

describe('order of spots', () => {
  it('takes the brightest of each part of the picture before the second of any', () => {
    // A trail of bright spots through the top row, and one faint spot in each of the other eight cells.
    const trail = Array.from({ length: 30 }, (_, i) => ({ x: 20 * i + 5, y: 60 }));
    const faint = Array.from({ length: 8 }, (_, i) => ({ x: 80 + 160 * (i % 4), y: 240 + 160 * Math.floor(i / 4) }));
    const order = spreadOut([...trail, ...faint], WIDTH, HEIGHT);
    expect([...order].sort((a, b) => a - b)).toEqual(Array.from({ length: 38 }, (_, i) => i));
    expect([...order.slice(0, 12)].filter((i) => i >= 30)).toHaveLength(8);
  });

  it('remembers which spots are brightest', () => {
    const random = makeRandom('spots');
    const places = Array.from({ length: 50 }, () => ({ x: WIDTH * random.uniform(), y: HEIGHT * random.uniform() }));
    const spots = makeSpots(places, WIDTH, HEIGHT);
    expect(Array.from(spots.brightest, (i) => spots.x[i])).toEqual(places.map((p) => p.x));
  });
});
