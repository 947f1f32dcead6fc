import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ARCSECOND } from '../../src/geometry/angle.js';
import { angleBetween } from '../../src/geometry/vector.js';
import { type Look, isSameLook, starsOfLook } from '../../src/night/look.js';
import { checkEntry } from '../../src/night/record/checkEntry.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { SITE } from '../axis/sightings.js';
import { inventLooks } from './inventedLooks.js';
import { lookEntry } from './record/entries.js';

const [first, second] = inventLooks({ altitude: 7, azimuth: -26 }, [{}, { west: 35, said: { did: 'knobs', knobs: ['azimuth'] } }]);

describe('a look', () => {
  test('is the same after it was written and read, to the last bit', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 1e6 }), fc.integer({ min: -170, max: 170 }), (seed, west) => {
      const looks = inventLooks({ altitude: 7, azimuth: -26, seed, stars: 60 }, [{}, { west }]).map((l) => l.look);
      expect(JSON.parse(JSON.stringify(looks))).toEqual(looks);
    }), { numRuns: 10 });
    expect(checkEntry(JSON.parse(JSON.stringify(lookEntry(second!))))).toMatchObject({
      look: { said: { did: 'knobs', knobs: ['azimuth'] } },
    });
  });

  test('keeps its stars where they were: within a tenth of a milliarcsecond, with their errors', () => {
    const { look, frame } = first!;
    const kept = starsOfLook(look, makeLocalSky(new Date(look.utc), SITE));
    const { stars } = frame.identification;
    expect(kept.length).toBe(stars.length);
    kept.forEach((star, i) => {
      expect(star.catalogue).toBe(stars[i]!.catalogue);
      expect(angleBetween(star.direction, stars[i]!.direction) / ARCSECOND).toBeLessThan(1e-4);
      expect(star.detection.x).toBeCloseTo(stars[i]!.detection.x, 4);
      expect(star.detection.y).toBeCloseTo(stars[i]!.detection.y, 4);
      expect(star.detection.sigma).toBeCloseTo(stars[i]!.detection.sigma, 4);
      expect(star.catalogueSigma / stars[i]!.catalogueSigma).toBeCloseTo(1, 3);
    });
  });

  test('is told from another by its moment and its stars\' places', () => {
    const { look } = first!;
    const shifted = (by: number): Look => ({ ...look, stars: { ...look.stars, x: look.stars.x.map((x) => x + by) } });
    expect(isSameLook(look, { ...look, file: 'copy.png' })).toBe(true);
    // A copy in another format moves no star by half a pixel.
    expect(isSameLook(look, shifted(0.3))).toBe(true);
    expect(isSameLook(look, shifted(0.7))).toBe(false);
    expect(isSameLook(look, { ...look, utc: second!.look.utc })).toBe(false);
    expect(isSameLook(look, { ...look, width: look.width + 1 })).toBe(false);
    expect(isSameLook(look, second!.look)).toBe(false);
    expect(isSameLook(look, { ...look, stars: { ...look.stars, number: look.stars.number.map((n) => n + 1e6) } })).toBe(false);
  });
});
