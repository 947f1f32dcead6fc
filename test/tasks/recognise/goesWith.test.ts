import { describe, expect, test } from 'vitest';
import { goesWith, whyNotWith } from '../../../src/tasks/recognise/goesWith.js';
import type { KnownFrame } from '../../../src/tasks/recognise/recognition.js';
import type { Night } from '../../../src/night/night.js';

const UTC = '2026-11-25T20:00:00.000Z';

/** As much of a frame as is looked at. */
function frameOf({ width = 800, focalPixels = 25_000, mirrored = false, utc = UTC } = {}): KnownFrame {
  return {
    frame: { file: 'a.fits', width, height: 600 }, sky: { time: new Date(utc) },
    identification: { lens: { focalPixels, mirrored, centreX: 399.5, centreY: 299.5, radial: [] } },
  } as unknown as KnownFrame;
}

const BASE = { width: 800, height: 600, utc: UTC, lens: { focalPixels: 25_000, mirrored: false } };

/** A night with a look, or with what an earlier record says of the camera. */
const withLooks = { looks: [{ ...BASE, utc: '2026-11-01T20:00:00Z' }, BASE], setting: { anchor: null } } as unknown as Night;
const anchored = (from: 'tonight' | 'earlier-night', utc = UTC): Night => ({
  looks: [], setting: { anchor: { ...BASE, utc, from } } }) as unknown as Night;

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

describe('a frame that does not go with the night is set aside', () => {
  test.each([
    [{ width: 1600 }, 'size-differs', /^a\.fits is 1600x600 pixels, the frames before it 800x600\. Use the same camera/],
    [{ focalPixels: 26_000 }, 'other-camera', /^a\.fits has 7\.933″ a pixel, the frames before it 8\.251″: another camera or lens/],
    [{ mirrored: true }, 'other-camera', /^a\.fits is mirrored against the frames before it: another camera/],
    [{ utc: '2026-11-24T20:10:00Z' }, 'other-night', /^a\.fits was taken 2026-11-24 20:10:00 UTC by its time, 23 h 50 min before the frames of this night\. .*else begin a new night\./],
    [{ utc: '2026-11-26T09:00:00Z' }, 'other-night', /^a\.fits was taken 2026-11-26 09:00:00 UTC by its time, 13 h after the frames/],
  ])('%o', (changes, code, message) => {
    for (const night of [withLooks, anchored('tonight')]) {
      expect(whyNotWith(night, frameOf(changes))).toMatchObject({
        file: 'a.fits', code, message: expect.stringMatching(message) as string, remedies: ['new-session'],
      });
    }
  });

  test('and one that does is not, nor the first of a night', () => {
    for (const night of [withLooks, anchored('tonight'), anchored('earlier-night')]) {
      expect(whyNotWith(night, frameOf())).toBeNull();
      expect(whyNotWith(night, frameOf({ utc: '2026-11-26T06:00:00Z', focalPixels: 25_300 }))).toBeNull();
    }
    expect(whyNotWith({ looks: [], setting: { anchor: null } } as unknown as Night, frameOf({ width: 7, mirrored: true }))).toBeNull();
  });

  test('a camera that is remembered from weeks before is compared by its lens and size, not its night', () => {
    const remembered = anchored('earlier-night', '2026-10-20T20:00:00Z');
    expect(whyNotWith(remembered, frameOf())).toBeNull();
    expect(whyNotWith(remembered, frameOf({ mirrored: true }))?.code).toBe('other-camera');
    expect(whyNotWith(remembered, frameOf({ width: 7 }))?.code).toBe('size-differs');
  });
});
