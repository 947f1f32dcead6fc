/** The parts of `verify`, each by itself; test/cli/verify.test.ts tests the whole. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ARCSECOND, DEGREE } from '../../../src/geometry/angle.js';
import { fromSpherical } from '../../../src/geometry/vector.js';
import type { RegisteredField } from '../../../src/run/registerField.js';
import type { FieldDrift } from '../../../src/run/fieldDrift.js';
import { givenValues } from '../../../src/tasks/given/given.js';
import { shareOf } from '../../../src/tasks/verify/axisParts.js';
import { driveOffOrientation } from '../../../src/tasks/verify/driveOff.js';
import { northEast } from '../../../src/tasks/verify/fieldOnSky.js';
import { pointedAt } from '../../../src/tasks/given/placeHint.js';
import { onSky } from '../../../src/tasks/verify/onSky.js';
import { type ShapedFrame, sortFrames } from '../../../src/tasks/verify/shapedFrame.js';
import { exposureOf } from '../../../src/tasks/verify/trackedRun.js';
import { withoutTurned } from '../../../src/tasks/verify/turnedFrames.js';
import { type VerifyRequest, checkRequest } from '../../../src/tasks/verify/verifyRequest.js';

const said = (value: number): { value: number; from: string } => ({ value, from: 'said' });
const TIME = Date.UTC(2026, 10, 25, 20);

/** As much of a frame as is looked at. */
function frameOf(file: string, seconds: number | null, stars: readonly { x: number; y: number }[], width = 1000): ShapedFrame {
  return {
    file, width, height: 700, background: 100 + (seconds ?? 0), noise: 5, fwhm: 3, moments: [], notes: [],
    stars: stars.map((place, i) => ({ ...place, flux: 1000 - i, sigma: 0.05 })),
    metadata: {
      midExposure: seconds === null ? null : { value: new Date(TIME + 1000 * seconds), from: 'x' }, exposureSeconds: null, remarks: [],
    },
  } as unknown as ShapedFrame;
}

const STARS = Array.from({ length: 30 }, (_, i) => ({ x: 100 + ((i * 397) % 800), y: 80 + ((i * 211) % 540) }));

describe('frames that can\'t be used are set apart', () => {
  it('those without a time or with hardly a star are left out with a reason, the others keep their order', () => {
    const { shaped, left } = sortFrames([
      frameOf('a', 0, STARS), { file: 'b', code: 'not-an-image', message: 'b is no image.' }, frameOf('c', null, STARS),
      frameOf('d', 60, STARS.slice(0, 2)), frameOf('e', 120, STARS.slice(1)),
    ], { clockAheadSeconds: said(30) });
    expect(shaped.map(({ file, metadata }) => [file, metadata.midExposure!.value.getTime() - TIME])).toEqual([
      ['a', -30_000], ['e', 90_000],
    ]);
    expect(left.map(({ file, code }) => [file, code])).toEqual([['b', 'not-an-image'], ['c', 'no-time'], ['d', 'no-stars']]);
  });
});

describe('a request', () => {
  const request: VerifyRequest = {
    given: { ...givenValues({}, null), rigFile: null, aim: 'refracted' }, guiding: 'unknown', declinationDeg: null, hourAngleHours: null,
    rightAscensionHours: null, positionAngleDeg: null, mirrored: false, exposureSeconds: null, limitPixels: 1, session: null,
  };
  it('without any option is valid', () => {
    expect(() => { checkRequest(request); }).not.toThrow();
  });
  it.each([
    [
      'two places', { declinationDeg: said(1), hourAngleHours: said(1), rightAscensionHours: said(1) },
      ['give-hour-angle', 'give-right-ascension'],
    ],
    ['a place without its declination', { hourAngleHours: said(1) }, ['give-declination']],
    ['a mirror without an angle', { mirrored: true }, ['give-mirrored', 'give-position-angle']],
  ])('%s is refused, with what puts it right', (_, change, remedies) => {
    expect(() => { checkRequest({ ...request, ...change }); }).toThrow(expect.objectContaining({ code: 'bad-option', remedies }));
  });
});

describe('directions', () => {
  const sky = fc.record({ ra: fc.double({ min: 0, max: 360, noNaN: true }), dec: fc.double({ min: -88, max: 88, noNaN: true }) });
  it('a step to the north or east of a direction is found as such', () => {
    fc.assert(fc.property(sky, ({ ra, dec }) => {
      const here = fromSpherical(ra * DEGREE, dec * DEGREE);
      const [north, east] = northEast(here, fromSpherical(ra * DEGREE, dec * DEGREE + 10 * ARCSECOND));
      expect(north / ARCSECOND).toBeCloseTo(10, 4);
      expect(east / ARCSECOND).toBeCloseTo(0, 4);
      const beside = northEast(here, fromSpherical(ra * DEGREE + (10 * ARCSECOND) / Math.cos(dec * DEGREE), dec * DEGREE));
      expect(beside[1] / ARCSECOND).toBeCloseTo(10, 3);
      expect(Math.abs(beside[0]) / ARCSECOND).toBeLessThan(0.05);
    }));
  });
  it('the middle of a picture lies from its reference pixel as the matrix of its world coordinates says', () => {
    fc.assert(fc.property(sky, ({ ra, dec }) => {
      const world = { x: 399.5, y: 349.5, matrix: [-0.001, 0, 0, 0.001] as const };
      // 100 pixels to the left of the middle of 1000, so the middle lies 100 pixels on: 0.1° west.
      const middle = pointedAt({ raDeg: ra, decDeg: dec, from: 'x', world }, { width: 1000, height: 700 });
      const [north, east] = northEast(fromSpherical(ra * DEGREE, dec * DEGREE), middle);
      expect(east / DEGREE).toBeCloseTo(-0.1, 5);
      expect(north / DEGREE).toBeCloseTo(0, 5);
    }));
  });
  it('along a row is where the row points, down a column a quarter turn from it, the other way round where mirrored', () => {
    expect(onSky({ rowAngle: 0, mirrored: false, sigma: 0 }, 2, 0)).toEqual({ north: 2, east: 0 });
    expect(onSky({ rowAngle: 0, mirrored: false, sigma: 0 }, 0, 2).east).toBeCloseTo(-2);
    expect(onSky({ rowAngle: 0, mirrored: true, sigma: 0 }, 0, 2).east).toBeCloseTo(2);
  });
});

describe('frames with the drive off', () => {
  /** Stars 60 s later: gone west along the row, and turned about the picture's middle as a field at 30° north turns. */
  const later = (turn: number, dx = 40): { x: number; y: number }[] => STARS.map(({ x, y }) => ({
    x: 499.5 + dx + (x - 499.5) * Math.cos(turn) - (y - 349.5) * Math.sin(turn),
    y: 349.5 + (x - 499.5) * Math.sin(turn) + (y - 349.5) * Math.cos(turn),
  }));
  // One turn in a sidereal day of 86164 s (Aoki et al. 1982, A&A 105, 359), times the sine of the declination.
  const turn = ((2 * Math.PI * 600) / 86164.1) * Math.sin(30 * DEGREE);
  it('show which way is west, and by the rotation of the field whether the picture is mirrored', () => {
    const plain = driveOffOrientation([frameOf('b', 600, later(-turn)), frameOf('a', 0, STARS)], 1000, 30);
    expect(plain).toMatchObject({ mirrored: false });
    // West, at 270°, is where x rises.
    expect(plain.rowAngle / DEGREE).toBeCloseTo(270, 0);
    expect(driveOffOrientation([frameOf('a', 0, STARS), frameOf('b', 600, later(turn))], 1000, 30)).toMatchObject({ mirrored: true });
  });
  it.each([
    ['one frame', [frameOf('a', 0, STARS)], 1000, /two of the same camera are needed/],
    ['another camera', [frameOf('a', 0, STARS), frameOf('b', 600, later(-turn))], 800, /two of the same camera are needed/],
    ['no motion', [frameOf('a', 0, STARS), frameOf('b', 600, STARS)], 1000, /show too little drift to find west/],
    ['no turning', [frameOf('a', 0, STARS), frameOf('b', 600, later(0))], 1000, /don't turn as a field at this declination does/],
  ])('%s is refused', (_, frames, width, says) => {
    expect(() => driveOffOrientation(frames, width, 30)).toThrow(says);
  });
});

describe('a run', () => {
  const fieldOf = (...rotations: readonly (number | null)[]): RegisteredField =>
    ({
      frames: rotations.map((degrees) => (degrees === null ? null : { fit: { rotation: degrees * DEGREE } })),
    }) as unknown as RegisteredField;
  it('frames turned against most are left out, also across half a turn', () => {
    const kept = (field: RegisteredField): boolean[] => withoutTurned(field).frames.map((f) => f !== null);
    expect(kept(fieldOf(0, 0.1, 180.2, null, 0.2))).toEqual([true, true, false, false, true]);
    expect(kept(fieldOf(179.9, -179.9, 0))).toEqual([true, true, false]);
  });
  const run = (seconds: readonly number[]): Parameters<typeof exposureOf>[1] =>
    ({ frames: [frameOf('a', 0, STARS)], field: fieldOf(0), drift: { seconds } as unknown as FieldDrift, left: [] });
  it('takes an exposure that fits between two frames, and refuses one that does not', () => {
    expect(exposureOf(said(60), run([0, 60, 120, 600]))).toEqual(said(60));
    expect(exposureOf(null, run([0, 60]))).toBeNull();
    expect(() => exposureOf(said(90), run([0, 60, 120]))).toThrow(expect.objectContaining({ remedies: ['give-exposure'] }));
  });
  it('a part along the whole has its share, one across it none, one against it a negative one', () => {
    expect(shareOf({ x: 1, y: 1 }, { x: 2, y: 2 })).toBeCloseTo(0.5);
    expect(shareOf({ x: 1, y: -1 }, { x: 2, y: 2 })).toBe(0);
    expect(shareOf({ x: -2, y: 0 }, { x: 2, y: 0 })).toBe(-1);
    expect(shareOf({ x: 1, y: 0 }, { x: 0, y: 0 })).toBe(0);
  });
});
