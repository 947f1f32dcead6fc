/** Work is counted, not timed: doubling the input must not do more than double it. */
import { describe, expect, it } from 'vitest';
import type { Image } from '../../src/frames/frame.js';
import { makeBlobPlaces } from '../../src/stars/blobPlaces.js';
import { detectStars } from '../../src/stars/detectStars.js';
import type { Blob } from '../../src/stars/saturatedBlob.js';
import { countingReads } from '../countingReads.js';

const CEILING = 60_000;

/** A dark picture of even noise with saturated pixels where `isSaturated` says. */
function picture(width: number, height: number, isSaturated: (x: number, y: number) => boolean): Image {
  let seed = 1;
  const data = Float32Array.from({ length: width * height }, (_, i) => {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    return isSaturated(i % width, Math.floor(i / width)) ? CEILING : 1000 + (seed >>> 26);
  });
  return { width, height, data, ceiling: CEILING };
}

/** Reads of single pixels while stars are looked for. */
function pixelReads(image: Image): number {
  const counted = countingReads(image.data);
  detectStars({ ...image, data: counted.array });
  return counted.reads();
}

const specks = (x: number, y: number): boolean => (x * 7919 + y * 104_729) % 100 === 0;
/** Bars of eight rows with bristles, all one patch, larger than what is followed at once. */
const comb = (x: number, y: number): boolean => y % 30 < 8 || x % 9 === 0 && y % 30 < 22 || x < 6;

describe('looking for stars', () => {
  it.each([
    ['no pixel is saturated', () => false], ['one pixel in a hundred is saturated', specks], ['a comb is', comb],
  ] as const)('reads each pixel of a picture a limited number of times, where %s', (_, isSaturated) => {
    const [once, twice] = [pixelReads(picture(300, 300, isSaturated)), pixelReads(picture(600, 300, isSaturated))];
    expect(once / (300 * 300)).toBeLessThan(40);
    expect(twice / once).toBeLessThan(2.3);
  });
});

describe('whether a place lies on a saturated patch', () => {
  /** How often patches were looked at, over all questions, with this many patches on a line. */
  const looks = (count: number): number => {
    let looked = 0;
    const places = makeBlobPlaces(20 * count, 40, 3);
    for (let k = 0; k < count; k++) {
      const blob: Blob = {
        get x() { looked++; return 20 * k + 10; }, y: 20, radius: 0.5, elongation: 1, along: { x: 1, y: 0 }, halfWidth: 0.5, whole: true,
      };
      places.add(blob);
    }
    looked = 0;
    for (let k = 0; k < count; k++) {
      expect(places.covers(20 * k + 10, 20)).toBe(true);
      expect(places.covers(20 * k, 20)).toBe(false);
    }
    return looked;
  };
  it('is tested on as few patches in a picture with many of them as in one with few', () => {
    expect(looks(2000) / looks(1000)).toBeCloseTo(2, 1);
  });
  it('is right for long patches at any angle, held against each of them', () => {
    for (let turn = 0; turn < 20; turn++) {
      const angle = (turn * Math.PI) / 10;
      const blob: Blob = {
        x: 300, y: 250, radius: 120, elongation: 9, along: { x: Math.cos(angle), y: Math.sin(angle) }, halfWidth: 7, whole: false,
      };
      const places = makeBlobPlaces(600, 500, 4);
      places.add(blob);
      let wrong = 0;
      for (let y = 0; y < 500; y += 7) {
        for (let x = 0; x < 600; x += 7) {
          const [dx, dy] = [x - 300, y - 250];
          const [along, across] = [dx * Math.cos(angle) + dy * Math.sin(angle), dx * Math.sin(angle) - dy * Math.cos(angle)];
          if (places.covers(x, y) !== (Math.abs(along) < 124 && Math.abs(across) < 11)) wrong++;
        }
      }
      expect(wrong).toBe(0);
    }
  });
});
