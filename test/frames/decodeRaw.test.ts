/** Through the built library, since LibRaw runs on a thread of its own. Digital negatives by test/frames/dngBytes.ts: invented pictures. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type * as Library from '../../src/index.js';
import { type DngPicture, dngBytes } from './dngBytes.js';
import { losslessJpeg } from './losslessJpeg.js';
import { expectInPlace, strewnMosaic } from './strewnMosaic.js';
import type { Tag } from './tiffBytes.js';

const { readFrame } = (await import(new URL('../../dist/index.js', import.meta.url).href)) as typeof Library;
const PATTERNS = { RGGB: [0, 1, 1, 2], BGGR: [2, 1, 1, 0], GRBG: [1, 0, 2, 1], GBRG: [1, 2, 0, 1] };
/** One of the 6x6 cells in use: 20 green, 8 red, 8 blue. */
const SIX = [1, 2, 1, 1, 0, 1, 0, 1, 0, 2, 1, 2, 1, 2, 1, 1, 0, 1, 1, 0, 1, 1, 2, 1, 2, 1, 2, 0, 1, 0, 1, 0, 1, 1, 2, 1];
/** DateTimeOriginal, ExposureTime, FocalLength, OffsetTimeOriginal. */
const EXIF: Tag[] = [[36867, 2, '2026:11:25 20:30:00'], [33434, 5, [30, 1]], [37386, 5, [135, 1]], [36881, 2, '+01:00']];

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'raw-'));
});
afterAll(() => rmSync(folder, { recursive: true }));
const put = (bytes: Buffer, name = 'a.dng'): string => {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
};
const small = (change: Partial<DngPicture> = {}): DngPicture => {
  const [width, height] = [change.width ?? 64, change.height ?? 48];
  const samples = change.pattern === null ? 3 : 1;
  return { width, height, data: Uint16Array.from({ length: width * height * samples }, (_, i) => 500 + ((i * 7919) % 3001)), ...change };
};
/** Mean of the 2x2 pixels from (x, y) on, rounded half up. */
const cellMean = ({ width, data }: DngPicture, x: number, y: number): number => {
  const i = y * width + x;
  return Math.floor(((data[i] as number) + (data[i + 1] as number) + (data[i + width] as number) + (data[i + width + 1] as number)) / 4
    + 0.5);
};

describe('a camera raw file', () => {
  it.each(Object.entries(PATTERNS))('with the mosaic %s has its stars where they were put, in pixels of the whole frame',
    async (_, pattern) => {
    const mosaic = strewnMosaic(pattern, 2, 0, 0, 5);
    const frame = await readFrame(put(dngBytes({ ...mosaic, pattern, whiteLevel: 16383, blackLevel: 512 })));
    expect(frame).toMatchObject({ pixelOffset: 0.5, firstRowBottom: false, standIn: null, image: { ceiling: 16383 } });
    expectInPlace(frame, mosaic);
  });
  it('with a cell of 6x6 pixels is interpolated in place', async () => {
    const mosaic = strewnMosaic(SIX, 6, 0, 0, 7);
    const frame = await readFrame(put(dngBytes({ ...mosaic, pattern: SIX, cell: 6 })));
    expect(frame.pixelOffset).toBe(0);
    expectInPlace(frame, mosaic);
  });
  it.each([false, true])('keeps the values of its sensor as stored, black level and all, bytes either way round (%s)', async (bigEndian) =>
    {
    const picture = small({ blackLevel: 300, whiteLevel: 4000, bigEndian });
    const { image } = await readFrame(put(dngBytes(picture)));
    expect([image.width, image.height]).toEqual([64, 48]);
    for (let y = 0; y < 47; y++) for (let x = 0; x < 63; x++) expect(image.data[y * 64 + x]).toBe(cellMean(picture, x, y));
  });
  it('compressed by lossless JPEG, as most cameras do, has the same values', async () => {
    // Steps of all sizes and both signs.
    const data = Uint16Array.from({ length: 64 * 48 }, (_, i) => (i % 37 === 0 ? 65535 : i % 41 === 0 ? 0 : 900
      + ((i * 7919) % 2 ** (i % 16))));
    const picture = small({ data, compression: 7, packed: losslessJpeg(64, 48, data) });
    const { image, standIn } = await readFrame(put(dngBytes(picture)));
    expect(standIn).toBeNull();
    for (let y = 0; y < 47; y++) for (let x = 0; x < 63; x++) expect(image.data[y * 64 + x]).toBe(cellMean(picture, x, y));
  });
  it.each([12, 14])('with samples of %i bits packed side by side has the same values', async (bits) => {
    const data = Uint16Array.from({ length: 64 * 48 }, (_, i) => (i * 7919) % 2 ** bits);
    const binary = [...data].map((value) => value.toString(2).padStart(bits, '0')).join('');
    const packed = Buffer.from((binary.match(/.{8}/g) as string[]).map((byte) => parseInt(byte, 2)));
    const picture = small({ data, bits, packed, whiteLevel: 2 ** bits - 1 });
    const { image } = await readFrame(put(dngBytes(picture)));
    expect(image.ceiling).toBe(2 ** bits - 1);
    for (let y = 0; y < 47; y++) for (let x = 0; x < 63; x++) expect(image.data[y * 64 + x]).toBe(cellMean(picture, x, y));
  });
  it('is read without its unlit border, and not turned by its orientation tag', async () => {
    const picture = small({ activeArea: [2, 4, 46, 60], orientation: 6 });
    const { image } = await readFrame(put(dngBytes(picture)));
    expect([image.width, image.height]).toEqual([56, 44]);
    expect(image.data[0]).toBe(cellMean(picture, 4, 2));
    expect(image.data[10 * 56 + 20]).toBe(cellMean(picture, 24, 12));
  });
  it('with three linear samples a pixel gives their mean, in place and not turned', async () => {
    const picture = small({ pattern: null, blackLevel: 100, whiteLevel: 4095, orientation: 6 });
    const { image, pixelOffset } = await readFrame(put(dngBytes(picture)));
    expect([image.width, image.height, pixelOffset, image.ceiling]).toEqual([64, 48, 0, 4095]);
    image.data.forEach((value, i) => {
      const sum = (picture.data[3 * i] as number) + (picture.data[3 * i + 1] as number) + (picture.data[3 * i + 2] as number);
      expect(value).toBeCloseTo(sum / 3, 2);
    });
  });
  it('without colours stays as it is', async () => {
    const picture = small({ instead: [[262, 3, [34892]]] });
    const { image, pixelOffset } = await readFrame(put(dngBytes(picture)));
    expect(pixelOffset).toBe(0);
    expect([...image.data]).toEqual([...picture.data]);
  });
  it('is recognised by its tags, whatever its name, and gives time, exposure and focal length', async () => {
    const { metadata } = await readFrame(put(dngBytes(small({ exif: EXIF })), 'named.tif'));
    expect(metadata).toMatchObject({
      midExposure: { value: new Date('2026-11-25T19:30:15Z'), from: 'EXIF DateTimeOriginal and OffsetTimeOriginal + half the exposure' },
      exposureSeconds: { value: 30, from: 'EXIF ExposureTime' },
      focalLengthMillimetres: { value: 135, from: 'EXIF FocalLength' },
    });
  });
});

describe('when a raw file was taken', () => {
  const taken = { midExposure: { value: new Date('2026-11-25T19:30:15Z'),
    from: 'EXIF DateTimeOriginal and OffsetTimeOriginal + half the exposure' } };
  it.each([
    ['is TIFF with a mark of its own', { mark: 'CR\x02\0\0\0\0\0' }],
    ['is like TIFF with another number', { number: 'RO' }],
  ])('is told by its EXIF, offset and all, where it %s', async (_, change) => {
    const jpeg = await sharp({ create: { width: 1200, height: 800, channels: 3, background: 'navy' } }).jpeg().toBuffer();
    const frame = await readFrame(put(dngBytes(small({ exif: EXIF, preview: { jpeg, width: 1200, height: 800 }, ...change })), 'a.raw'));
    expect(frame.metadata).toMatchObject(taken);
  });
  it('comes from its preview\'s EXIF where the file is not built like TIFF', async () => {
    const exif = { IFD2: { DateTimeOriginal: '2026:11:25 20:30:00', OffsetTimeOriginal: '+01:00', ExposureTime: '30/1' } };
    const jpeg = await sharp({ create: { width: 1200, height: 800, channels: 3, background: 'navy' } }).withExif(exif).jpeg().toBuffer();
    // An invented container that nobody decodes: its mark, something, the preview, something.
    const frame = await readFrame(put(Buffer.concat([Buffer.from('INVENTEDCCD-RAW '), Buffer.alloc(500), jpeg, Buffer.alloc(5000, 7)]),
      'a.raf'));
    expect(frame.metadata).toMatchObject(taken);
    expect(frame.standIn).toMatch(/preview inside was used \(JPEG, 1200 × 800/);
  });
});

describe('a raw file that LibRaw does not decode', () => {
  const jpeg = async (width: number, height: number): Promise<Buffer> =>
    sharp({ create: { width, height, channels: 3, background: { r: 30, g: 60, b: 90 } } }).jpeg().toBuffer();
  const preview = async (width: number, height: number): Promise<DngPicture> =>
    small({ compression: 12345, exif: EXIF, preview: { jpeg: await jpeg(width, height), width, height } });

  it('gives its full-size preview, and says so', async () => {
    const frame = await readFrame(put(dngBytes(await preview(64, 48))));
    expect([frame.image.width, frame.image.height, frame.image.ceiling, frame.pixelOffset]).toEqual([64, 48, 255, 0]);
    // The mean of 30, 60 and 90, give or take what JPEG rounds.
    expect(Math.abs((frame.image.data[0] as number) - 60)).toBeLessThan(2);
    expect(frame.standIn)
      .toMatch(/^the raw pixels can't be decoded, so the preview inside was used \(JPEG, 64 × 48, processed by the camera\)/);
    expect(frame.metadata.midExposure?.value).toEqual(new Date('2026-11-25T19:30:15Z'));
  });
  it.each([
    ['a small preview', () => preview(32, 24),
      /can't be decoded, and its preview is small \(32 × 24\)\. Have the camera save JPEG too, or turn it into DNG\.$/],
    ['no preview', async () => small({ compression: 12345 }), /can't be decoded, and it has no preview\. Have/],
  ])('and has %s is refused', async (_, picture, message) => {
    await expect(readFrame(put(dngBytes(await picture())))).rejects.toMatchObject({ name: 'PolewardError', code: 'not-an-image',
      message: expect.stringMatching(message) as string });
  });
});

describe('a raw file that claims too much is refused before memory is taken', () => {
  const claims = (width: number, height: number): DngPicture => small({ instead: [[256, 4, [width]], [257, 4, [height]]] });
  it.each([
    ['more than its bytes can hold', claims(12_000, 12_000), 'file-truncated', /claims 144\.0 megapixels in \d+ bytes, which can't be/],
    ['more than a camera has', claims(60_000, 60_000), 'too-large', /has 3600 megapixels, more than the 200/],
    ['a strip longer than the file', small({ instead: [[279, 4, [640 * 480 * 2]], [257, 4, [480]]] }), 'file-truncated',
      /is a camera raw file that is cut short/],
  ])('%s', async (_, picture, code, message) => {
    const before = process.memoryUsage().rss;
    await expect(readFrame(put(dngBytes(picture)))).rejects.toMatchObject({ name: 'PolewardError', code,
      message: expect.stringMatching(message) as string });
    expect(process.memoryUsage().rss - before).toBeLessThan(250e6);
  });
});

describe('damaged raw files', () => {
  it('cut within their pixels are cut short, preview or not', async () => {
    const preview = { jpeg: await jpegOf(64, 48), width: 64, height: 48 };
    const whole = dngBytes(small({ preview }));
    for (const length of [whole.length - 100, whole.length - 64 * 48 * 2]) {
      await expect(readFrame(put(whole.subarray(0, length)))).rejects.toMatchObject({ code: 'file-truncated',
        message: expect.stringMatching(/is a camera raw file that is cut short\. Copy or save it again\.$/) as string });
    }
  });
  it('either read or raise a PolewardError, with any bytes of their tags changed or cut', async () => {
    const whole = dngBytes(small({ width: 16, height: 8, exif: EXIF, preview: { jpeg: await jpegOf(16, 8), width: 16, height: 8 } }));
    let state = 7;
    const random = (below: number): number => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) % below;
    for (let run = 0; run < 20; run++) {
      const bytes = Buffer.from(run % 5 === 0 ? whole.subarray(0, random(whole.length)) : whole);
      for (let n = 0; n < 4; n++) bytes[random(bytes.length)] = random(256);
      try {
        const { image } = await readFrame(put(bytes));
        expect(image.data.length).toBe(image.width * image.height);
      } catch (error) {
        expect((error as Error).name, String(error)).toBe('PolewardError');
      }
    }
  });
  async function jpegOf(width: number, height: number): Promise<Buffer> {
    return sharp({ create: { width, height, channels: 3, background: 'navy' } }).jpeg().toBuffer();
  }
});
