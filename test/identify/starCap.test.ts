import { describe, expect, it } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { type Vector, angleBetween } from '../../src/geometry/vector.js';
import { starCap } from '../../src/identify/starCap.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { catalogue, half } from './simulatedField.js';

const time = new Date('2026-02-03T21:00:00Z');
const low = makeLocalSky(time, makeSite({ latitudeDeg: 8, longitudeDeg: 100 }));

describe('star cap', () => {
  it('gives every star the direction that the sky has, and none below the horizon', () => {
    const cap = starCap(half(1), low);
    const known = cap.reveal(Math.PI);
    expect(known.length).toBe(cap.count);
    let hidden = 0;
    for (let i = 0; i < cap.count; i += 11) {
      const n = 3 * cap.catalogue[i]!;
      const expected = low.toLocal([catalogue.directions[n]!, catalogue.directions[n + 1]!, catalogue.directions[n + 2]!]);
      const seen = [...cap.directions.subarray(3 * i, 3 * i + 3)];
      if (expected[2] <= 0) {
        hidden++;
        expect(seen).toEqual([0, 0, 0]);
      } else {
        seen.forEach((c, k) => expect(c).toBeCloseTo(expected[k]!, 11));
      }
    }
    expect(hidden).toBeGreaterThan(100);
  });

  it('places all stars within the radius asked for, and not much more', () => {
    for (const sky of [low, makeLocalSky(new Date('2050-01-01T00:00:00Z'), null)]) {
      const whole = starCap(half(-1), makeLocalSky(sky.time, null));
      whole.reveal(Math.PI);
      const pole: Vector = [0, 0, -1];
      const cap = starCap(half(-1), makeLocalSky(sky.time, null));
      for (const degrees of [1, 4, 10]) {
        const known = new Set(cap.reveal(degrees * DEGREE));
        let missing = 0;
        let needless = 0;
        for (let i = 0; i < cap.count; i++) {
          const d: Vector = [whole.directions[3 * i]!, whole.directions[3 * i + 1]!, whole.directions[3 * i + 2]!];
          const off = angleBetween(d, pole);
          if (off <= degrees * DEGREE && !known.has(i)) missing++;
          if (off > (2 * degrees + 2) * DEGREE && known.has(i)) needless++;
        }
        expect([missing, needless]).toEqual([0, 0]);
      }
    }
  });

  it('lists them brightest first, and keeps a star at its number', () => {
    const cap = starCap(half(1), low);
    const near = cap.reveal(3 * DEGREE);
    const before = cap.directions.slice();
    const all = cap.reveal(20 * DEGREE);
    for (const list of [near, all]) expect([...list.keys()].every((k) => k === 0 || list[k]! > list[k - 1]!)).toBe(true);
    expect([...cap.magnitudes.keys()].every((i) => i === 0 || cap.magnitudes[i]! >= cap.magnitudes[i - 1]!)).toBe(true);
    expect(near.every((i) => cap.directions[3 * i] === before[3 * i])).toBe(true);
  });
});
