/** Files made in their full size and filled from the start, as some copiers do it. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { PolewardError } from '../../src/error.js';
import { decodeFrame } from '../../src/frames/decodeFrame.js';
import { unfinishedRows } from '../../src/frames/unfinished.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { skyFolders, skyFrameBytes, skyFrameNames } from '../skies.js';

const root = new URL('../../', import.meta.url).pathname;
const DEMO = ['frame-1.fits', 'frame-2.fits', 'frame-3.fits'].map((name): [string, Buffer] =>
  [`demo ${name}`, readFileSync(join(root, 'demo', name))]);
const SKIES = skyFolders.flatMap((folder) => skyFrameNames(folder).map((name): [string, Buffer] =>
  [`${folder} ${name}`, Buffer.from(skyFrameBytes(folder, name))]));
const SHARES = [0.1, 0.25, 0.333, 0.5, 0.7, 0.8, 0.9, 0.95];
const FILLS = [0, 0xff];

/** The file with all but a share of its bytes replaced. */
const filled = (whole: Buffer, share: number, fill: number): Buffer => Buffer.from(whole).fill(fill, Math.floor(share * whole.length));

/** Rows told to be missing; 'refused' where the file is not read at all. */
async function missing(bytes: Buffer): Promise<number | 'refused'> {
  try {
    return (await decodeFrame(bytes, 'a', nodeDecoders)).unfinished?.rows ?? 0;
  } catch (error) {
    expect(error).toBeInstanceOf(PolewardError);
    return 'refused';
  }
}

describe('a frame that is filled in part', () => {
  it.each([...DEMO, ...SKIES])('is noticed, and how much of it is missing: %s', async (_, whole) => {
    const { image } = await decodeFrame(Buffer.from(whole), 'a', nodeDecoders);
    for (const share of SHARES) {
      for (const fill of FILLS) {
        const rows = await missing(filled(whole, share, fill));
        // The last bytes are padding.
        expect(Math.abs((rows as number) - (1 - share) * (whole.length / (2 * image.width)))).toBeLessThan(3 + 2880 / (2 * image.width));
      }
    }
  });
  it.each(['png', 'jpeg', 'webp', 'avif', 'tiff'] as const)('is noticed or refused as %s', async (format) => {
    const { image } = await decodeFrame(Buffer.from(DEMO[0]![1]), 'a', nodeDecoders);
    const { width, height, data } = image;
    const eight = Uint8Array.from(data as Uint16Array, (value) => Math.min(255, value / 16));
    for (const made of [sharp(eight, { raw: { width, height, channels: 1 } }), sharp(eight, { raw: { width, height, channels: 1 } })
      .toColourspace('srgb')]) {
      const whole = await (format === 'tiff' ? made.tiff({ compression: 'none' }) : made[format]()).toBuffer();
      expect(await missing(Buffer.from(whole))).toBe(0);
      for (const share of SHARES) for (const fill of FILLS) expect(await missing(filled(whole, share, fill)),
        `${share} ${fill}`).not.toBe(0);
    }
  });
});

describe('a whole frame is not taken for unfinished', () => {
  it('among all frames of the tests', async () => {
    const files = readdirSync(join(root, 'testdata'), { recursive: true, encoding: 'utf8' })
      .filter((name) => !name.startsWith('.cache') && /\.(fits|gz|fz|tif|png|jpg|dng)$/.test(name));
    expect(files.length).toBeGreaterThan(80);
    for (const name of files) expect([0, 'refused'], name).toContain(await missing(readFileSync(join(root, 'testdata', name))));
    for (const [name, whole] of [...DEMO, ...SKIES]) expect(await missing(whole), name).toBe(0);
  });

  const [width, height] = [400, 300];
  const noisy = (low: number, value: (x: number, y: number) => number | null): Uint8Array => {
    let seed = 7;
    return Uint8Array.from({ length: width * height }, (_, i) => {
      seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
      return value(i % width, Math.floor(i / width)) ?? Math.max(0, low + (seed >>> 27) - 16);
    });
  };
  it.each([
    ['whose last rows are black', noisy(40, (_, y) => (y > 250 ? 0 : null))],
    ['whose last rows are white', noisy(40, (_, y) => (y > 290 ? 255 : null))],
    ['turned on a black ground', noisy(40, (x, y) => (Math.abs(x - 200) + Math.abs(y - 150) > 190 ? 0 : null))],
    ['turned a little on a black ground', noisy(40, (x, y) => (y > 280 - x / 20 || x > 390 - y / 20 ? 0 : null))],
    ['with a lit roof at its end', noisy(40, (x, y) => (y > 270 + 10 * Math.sin(x / 30) ? 255 : null))],
    ['in which most of the sky is black', noisy(-13, () => null)],
    ['in which all the sky is black but a star', noisy(-20, (x, y) => (Math.hypot(x - 90, y - 120) < 4 ? 200 : null))],
    ['that is all black', noisy(-99, () => null)],
  ])('%s', (_, data) => {
    expect(unfinishedRows(data, width, 255, [0, 255])).toBe(0);
    expect(unfinishedRows(data, width, 255, null)).toBe(0);
  });
  it('but the same is where it ends within a row', () => {
    expect(unfinishedRows(noisy(40, (x, y) => (y * width + x > 101_234 ? 0 : null)), width, 255, [0])).toBe(47);
    expect(unfinishedRows(Float32Array.from(noisy(40, (x, y) => (y * width + x > 101_234 ? 0 : null)), (value) => value || NaN), width,
      null, [0, NaN])).toBe(47);
  });
});
