import { describe, expect, test } from 'vitest';
import { goesWith, requireSameCamera, requireSameNight } from '../../../src/tasks/recognise/goesWith.js';
import type { KnownFrame } from '../../../src/tasks/recognise/recognition.js';
import type { AxisState } from '../../../src/night/record/entry.js';

const UTC = '2026-11-25T20:00:00.000Z';

/** As much of a frame as is looked at. */
function frameOf({ width = 800, focalPixels = 25_000, mirrored = false, utc = UTC } = {}): KnownFrame {
  return {
    frame: { file: 'a.fits', width, height: 600 }, sky: { time: new Date(utc) },
    identification: { lens: { focalPixels, mirrored, centreX: 399.5, centreY: 299.5, radial: [] } },
  } as unknown as KnownFrame;
}

const base = { width: 800, height: 600, utc: UTC, lens: { focalPixels: 25_000, mirrored: false } } as unknown as AxisState;

describe('a frame goes with others', () => {
  test.each([
    ['when focus has moved its scale a little', { focalPixels: 25_300 }, true],
    ['later in the night', { utc: '2026-11-26T06:00:00Z' }, true],
    ['not when it is of another size', { width: 801 }, false],
    ['not when its scale is of another lens', { focalPixels: 26_000 }, false],
    ['not when it is mirrored', { mirrored: true }, false],
    ['not when it is of another night', { utc: '2026-11-24T20:10:00Z' }, false],
  ])('%s', (_, changes, goes) => {
    expect(goesWith(frameOf(), frameOf(changes))).toBe(goes);
  });
});

describe('a frame that a measurement can\'t be rechecked with is refused', () => {
  test.each([
    [{ width: 1600 }, 'size-differs', /a\.fits is 1600x600 pixels, the measurement's frames 800x600\. Use the same camera/],
    [{ focalPixels: 26_000 }, 'other-camera', /a\.fits has 7\.933″ a pixel, the measurement's frames 8\.251″: another camera or lens/],
    [{ mirrored: true }, 'other-camera', /a\.fits is mirrored against the measurement's frames/],
  ])('%o', (changes, code, message) => {
    expect(() => requireSameCamera(base, frameOf(changes))).toThrow(expect.objectContaining({
      code, message: expect.stringMatching(message) as string,
    }));
    expect(() => requireSameCamera(base, frameOf())).not.toThrow();
  });

  test('by its night', () => {
    expect(() => requireSameNight(base, frameOf({ utc: '2026-11-24T20:10:00Z' }))).toThrow(
      /a\.fits was taken 2026-11-24 20:10:00 UTC by its time, 23 h 50 min before the measurement/,
    );
    expect(() => requireSameNight(base, frameOf({ utc: '2026-11-26T06:00:00Z' }))).not.toThrow();
  });
});
