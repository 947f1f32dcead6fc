import { describe, expect, it } from 'vitest';
import { fromHorizontal } from '../../../src/axis/axisError.js';
import { DEGREE } from '../../../src/geometry/angle.js';
import type { Rotation } from '../../../src/geometry/rotation.js';
import { type Vector, cross, unit } from '../../../src/geometry/vector.js';
import { type Hemisphere, type LocalSky, makeLocalSky } from '../../../src/sky/localSky.js';
import { makeSite } from '../../../src/sky/site.js';
import type { KnownFrame } from '../../../src/tasks/recognise/recognition.js';
import { aboutFrame, coarseText, whereOf, whereText } from '../../../src/tasks/words/whereText.js';

const TIME = new Date('2026-11-25T20:00:00Z');

/** A frame that looks in a local direction. */
function looking(toward: Vector, sky: LocalSky, hemisphere: Hemisphere): KnownFrame {
  const right = unit(cross([0.3, 0.2, 0.9], toward)), down = cross(toward, right);
  const pose: Rotation = [right[0], down[0], toward[0], right[1], down[1], toward[1], right[2], down[2], toward[2]];
  return { sky, hemisphere, identification: { pose } } as unknown as KnownFrame;
}

describe('where a frame looks', () => {
  const north = makeLocalSky(TIME, makeSite({ latitudeDeg: 45, longitudeDeg: 10 }));
  const south = makeLocalSky(TIME, makeSite({ latitudeDeg: -35, longitudeDeg: 150 }));

  it('tells how far the pole is higher and which way about the vertical, in either hemisphere', () => {
    const where = whereOf(looking(fromHorizontal(31 * DEGREE, 20 * DEGREE), north, 1));
    expect(where.horizon!.poleHigherDeg).toBeCloseTo(14, 1);
    expect(where.horizon!.poleRightDeg).toBeCloseTo(-20, 9);
    expect(whereText(where)).toMatch(/^looks 31\.0° high toward the north \(azimuth 20\.0°\), in [A-Z]\w+/);
    expect(whereText(where)).toMatch(/; the pole is 14° higher and 20° left$/);
    expect(coarseText(where)).toMatch(/raise the latitude scale by 14°, turn the base 20° to the left\.$/);
    const down = whereOf(looking(fromHorizontal(41 * DEGREE, 172.3 * DEGREE), south, -1));
    expect(whereText(down)).toMatch(/toward the south .*; the pole is 6\.0° lower and 7\.7° right$/);
    expect(coarseText(down)).toMatch(/lower the latitude scale by 6\.0°, turn the base 7\.7° to the right\.$/);
  });

  it('is not taken for the axis where the camera looks another way altogether', () => {
    expect(coarseText(whereOf(looking(fromHorizontal(30 * DEGREE, 170 * DEGREE), north, 1)))).toBe('');
  });

  it('without a site is the constellation and the distance from the pole', () => {
    const sky = makeLocalSky(TIME, null);
    const deneb = sky.toLocal(unit([Math.cos(310.36 * DEGREE), Math.sin(310.36 * DEGREE), Math.tan(45.28 * DEGREE)]));
    expect(whereText(whereOf(looking(deneb, sky, 1)))).toBe('in Cygnus, 45° from the pole');
  });

  it('is not mentioned near the pole', () => {
    expect(aboutFrame(looking(north.truePole(1), north, 1))).toBe('');
    expect(aboutFrame(looking(fromHorizontal(60 * DEGREE, 90 * DEGREE), north, 1))).toMatch(/^The frame looks 60\.0° high toward the east/);
  });
});
