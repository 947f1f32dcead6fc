import { describe, expect, it } from 'vitest';
import { fromHorizontal } from '../../src/axis/axisError.js';
import { strayAxis } from '../../src/axis/strayAxis.js';
import { DEGREE } from '../../src/geometry/angle.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';

const TIME = new Date('2026-11-25T20:00:00Z');
const at = (latitudeDeg: number): ReturnType<typeof makeLocalSky> => makeLocalSky(TIME, makeSite({ latitudeDeg, longitudeDeg: 10 }));

describe('an axis', () => {
  it('up to 25° from the pole is one to align', () => {
    for (const [altitude, azimuth] of [[45, 0], [66, 4], [40, 33], [22, -8]] as const) {
      expect(strayAxis(fromHorizontal(altitude * DEGREE, azimuth * DEGREE), at(45), 1)).toBeNull();
    }
  });

  it('beyond that is told where it points, and which way to aim coarsely', () => {
    const error = strayAxis(fromHorizontal(20 * DEGREE, 50 * DEGREE), at(45), 1)!;
    expect(error.code).toBe('no-rotation');
    expect(error.message).toMatch(/a line 20° high at azimuth 50°, \d\d° from the pole\. Aim coarsely first: raise the latitude/);
    expect(error.message).toMatch(/turn the base 50° to the left\./);
    const south = strayAxis(fromHorizontal(60 * DEGREE, 150 * DEGREE), at(-30), -1)!;
    expect(south.message).toMatch(/lower the latitude scale by 30°, turn the base 30° to the right\./);
  });

  it('that is the vertical is an altazimuth\'s, whichever end of it is given; near a terrestrial pole it is not', () => {
    for (const altitude of [88, -88]) {
      expect(strayAxis(fromHorizontal(altitude * DEGREE, 1), at(52), 1)!.message).toMatch(/about the vertical \(to 2°\).*altazimuth/);
    }
    expect(strayAxis(fromHorizontal(88 * DEGREE, 1), at(86), 1)).toBeNull();
  });

  it('far from the pole without a site says only how far', () => {
    const error = strayAxis([Math.sin(40 * DEGREE), 0, Math.cos(40 * DEGREE)], makeLocalSky(TIME, null), 1)!;
    expect(error.message).toMatch(/about a line 40° from the pole/);
  });
});
