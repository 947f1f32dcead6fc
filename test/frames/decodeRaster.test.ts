import fc from 'fast-check';
import { readFileSync } from 'node:fs';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { PolewardError } from '../../src/error.js';
import { decodeRaster } from '../../src/frames/decodeRaster.js';
import { fileKind, type RasterKind } from '../../src/frames/fileKind.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { readFrame } from '../../src/node/readFrame.js';
import { tiffBytes } from './tiffBytes.js';

// Written and read by Pillow 9.4.0: testdata/frames/make.py.
const folder = new URL('../../testdata/frames/', import.meta.url).pathname;
const { raster } = JSON.parse(readFileSync(`${folder}expected.json`, 'utf8')) as {
  raster: Record<string, { width: number; height: number; data: number[] }>;
};
const decode = (bytes: Buffer) => {
  const kind = fileKind(bytes);
  return decodeRaster(bytes, kind as RasterKind, 'a', null, nodeDecoders.openPicture);
};

describe('pictures written by Pillow', () => {
  it.each(Object.entries(raster))('%s has the pixels that Pillow reads, of colours the mean', async (name, { width, height, data }) => {
    const { image } = await readFrame(folder + name);
    expect([image.width, image.height]).toEqual([width, height]);
    expect(image.data.length).toBe(data.length);
    data.forEach((value, i) => expect(image.data[i]).toBeCloseTo(value, 4));
  });

  it.each([
    ['grey8.png', Uint8Array, 255],
    ['grey16.png', Uint16Array, 65535],
    ['grey16-big-endian.tif', Uint16Array, 65535],
    ['colour8.png', Float32Array, 255],
    ['float32.tif', Float32Array, null],
    ['exif.jpg', Uint8Array, 255],
  ])('%s keeps its depth and ceiling', async (name, type, ceiling) => {
    const { image } = await readFrame(folder + name);
    expect(image.data).toBeInstanceOf(type);
    expect(image.ceiling).toBe(ceiling);
  });

  it.each(['exif.jpg', 'exif.tif'])('%s is not turned, and its EXIF is read', async (name) => {
    const { image, metadata } = await readFrame(folder + name);
    // Orientation 6 would make it 5 wide and 7 high.
    expect([image.width, image.height]).toEqual([7, 5]);
    expect(metadata).toMatchObject({
      midExposure: { value: new Date('2026-11-25T19:30:15.250Z'),
        from: 'EXIF DateTimeOriginal and OffsetTimeOriginal + half the exposure' },
      exposureSeconds: { value: 30, from: 'EXIF ExposureTime' },
      focalLengthMillimetres: { value: 50, from: 'EXIF FocalLength' },
      elevationMetres: { value: -12, from: 'EXIF GPSAltitude' },
      remarks: [],
    });
    expect(metadata.latitudeDeg?.value).toBeCloseTo(-39.2083333, 6);
    expect(metadata.longitudeDeg?.value).toBeCloseTo(-3.4, 6);
  });

  it('without EXIF say so', async () => {
    expect((await readFrame(`${folder}grey8.png`)).metadata.remarks).toEqual(['It carries no EXIF data: no time, exposure or optics.']);
  });
});

describe('values stay as stored', () => {
  const [width, height] = [16, 8];
  const ramp = Uint16Array.from({ length: width * height * 3 }, (_, i) => (i * 167) & 65535);
  const means = Array.from({ length: width * height }, (_, i) => ((ramp[3 * i] as number) + (ramp[3 * i + 1] as number)
    + (ramp[3 * i + 2] as number)) / 3);
  const colour = () => sharp(ramp, { raw: { width, height, channels: 3 } }).toColourspace('rgb16');

  it.each(['png', 'tiff'] as const)('in 16-bit colour %s', async (format) => {
    const { image } = await decode(await colour().toFormat(format, format === 'tiff' ? { compression: 'lzw' } : {}).toBuffer());
    means.forEach((mean, i) => expect(image.data[i]).toBeCloseTo(mean, 2));
    expect(image.ceiling).toBe(65535);
  });
  it('whatever colour profile is attached', async () => {
    // Strong colours: a profile hardly changes grey.
    const strong = Buffer.from(Array.from({ length: width * height * 3 }, (_, i) => (i * 37) & 255));
    const bytes = await sharp(strong, { raw: { width, height, channels: 3 } }).withIccProfile('p3', { attach: true }).png().toBuffer();
    const stored = await sharp(bytes, { ignoreIcc: true }).raw().toBuffer();
    expect((await sharp(bytes).metadata()).icc).toBeDefined();
    const { image } = await decode(bytes);
    for (let i = 0; i < width * height; i++) {
      expect(image.data[i]).toBeCloseTo(((stored[3 * i] as number) + (stored[3 * i + 1] as number) + (stored[3 * i + 2] as number)) / 3, 4);
    }
  });
  it('in 16-bit grey with transparency, which is dropped', async () => {
    const grey = Uint16Array.from({ length: width * height * 2 }, (_, i) => (i % 2 ? 1000 : i * 250));
    const bytes = await sharp(grey, { raw: { width, height, channels: 2 } }).toColourspace('grey16').png().toBuffer();
    const { image } = await decode(bytes);
    expect([...image.data]).toEqual([...grey].filter((_, i) => i % 2 === 0));
  });
});

describe('pictures of formats made to be small', () => {
  const [width, height] = [96, 64];
  const picture = Uint8Array.from({ length: width * height * 3 }, (_, i) => 128
    + Math.round(100 * Math.sin(i / 900) * Math.cos((i % (3 * width)) / 60)));
  const bright = Array.from({ length: width * height }, (_, i) => ((picture[3 * i] as number) + (picture[3 * i + 1] as number)
    + (picture[3 * i + 2] as number)) / 3);
  const source = () => sharp(picture, { raw: { width, height, channels: 3 } });
  const exif = { IFD2: { DateTimeOriginal: '2026:11:25 20:30:00', OffsetTimeOriginal: '+01:00', ExposureTime: '30/1' } };

  it.each([
    ['WebP without loss', () => source().withExif(exif).webp({ lossless: true }).toBuffer(), 0.001],
    ['WebP', () => source().withExif(exif).webp({ quality: 95 }).toBuffer(), 3],
    ['AVIF', () => source().withExif(exif).avif({ quality: 95 }).toBuffer(), 3],
    ['JPEG', () => source().withExif(exif).jpeg({ quality: 95 }).toBuffer(), 3],
  ])('%s is read, with its EXIF', async (_, bytes, near) => {
    const { image, metadata } = await decode(await bytes());
    expect([image.width, image.height, image.ceiling]).toEqual([width, height, 255]);
    const off = bright.reduce((sum, value, i) => sum + Math.abs(value - (image.data[i] as number)), 0) / bright.length;
    expect(off).toBeLessThan(near);
    expect(metadata.midExposure?.value).toEqual(new Date('2026-11-25T19:30:15Z'));
  });
  it.each(['none', 'lzw', 'deflate', 'packbits'] as const)('TIFF with compression %s keeps its values', async (compression) => {
    const { image } = await decode(await source().tiff({ compression }).toBuffer());
    bright.forEach((value, i) => expect(image.data[i]).toBeCloseTo(value, 4));
  });
  it('TIFF of several pages gives the first, and says so', async () => {
    const pages = await sharp(picture, { raw: { width, height, channels: 3, pageHeight: 32 } }).tiff().toBuffer();
    const { image, notes } = await decode(pages);
    expect([image.width, image.height]).toEqual([width, 32]);
    expect(notes).toContain('It holds 2 pictures; the first was used.');
  });
});

describe('pictures that are refused', () => {
  it.each([
    ['png', async () => readFileSync(`${folder}grey8.png`), (b: Buffer) => b.writeUInt32BE(12_000, b.writeUInt32BE(12_000, 16))],
    ['jpeg', async () => readFileSync(`${folder}exif.jpg`), (b: Buffer) =>
      b.writeUInt32BE(0x2ee02ee0, b.indexOf(Buffer.of(0xff, 0xc0)) + 5)],
    // ImageWidth and ImageLength (TIFF 6.0, section 8).
    ['tiff', async () => tiffBytes(8, 8, 8, Buffer.alloc(64), []), (b: Buffer) => {
      for (const tag of [256, 257]) b.writeUInt32LE(12_000, b.indexOf(Buffer.from([tag & 255, tag >> 8, 4, 0, 1, 0, 0, 0])) + 8);
    }],
    // Width and height less one, 14 bits each, behind the mark of a lossless picture (RFC 9649, section 3.4).
    ['webp', () => sharp({ create: { width: 8, height: 8, channels: 3, background: 'red' } }).webp({ lossless: true }).toBuffer(),
      (b: Buffer) => b.writeUInt32LE((11_999 | (11_999 << 14)) >>> 0, b.indexOf('VP8L') + 9)],
    // The box of the picture's extent (ISO/IEC 23008-12, 6.5.3).
    ['avif', () => sharp({ create: { width: 8, height: 8, channels: 3, background: 'red' } }).avif().toBuffer(),
      (b: Buffer) => b.writeUInt32BE(12_000, b.writeUInt32BE(12_000, b.indexOf('ispe') + 8))],
  ])('with more pixels than so few bytes can hold: %s', async (_, read, claim) => {
    const bytes = await read();
    claim(bytes);
    await expect(decode(bytes)).rejects.toMatchObject({
      code: 'file-truncated',
        message: expect.stringMatching(/^a claims 144\.0 megapixels in \d+ bytes, which can't be\. Copy or save it again\.$/) as string,
    });
  });
  it('with more in them than is unpacked', async () => {
    // 150 megapixels in three 16-bit colours: 0.84 GiB. Black, so that they pack well, but not more than they may.
    const bytes = Buffer.concat([await sharp({ create: { width: 4, height: 4, channels: 3, background: 'red' } }).toColourspace('rgb16')
      .png().toBuffer(), Buffer.alloc(50_000)]);
    bytes.writeUInt32BE(10_000, bytes.writeUInt32BE(15_000, 16));
    // Its header's checksum (PNG, section 5.3).
    bytes.writeUInt32BE(crc32(bytes.subarray(12, 29)), 29);
    await expect(decode(bytes)).rejects.toMatchObject({
      code: 'too-large',
        message: 'a has 0.84 GiB once unpacked, and this program unpacks 0.5 GiB at most. Give single frames, binned if need be.',
    });
  });
  it('in the colours of print', async () => {
    const bytes = await sharp({ create: { width: 4, height: 4, channels: 3, background: 'red' } }).toColourspace('cmyk').jpeg().toBuffer();
    await expect(decode(bytes)).rejects.toMatchObject({
      code: 'not-an-image',
      message: 'a stores its colours as cmyk uchar, not as grey or RGB. Save it as grey or RGB.',
    });
  });
  it('with more pixels than a camera has, before memory is taken', async () => {
    const bytes = readFileSync(`${folder}exif.jpg`);
    // Height and width stand 5 bytes behind the marker of the frame header (ITU-T T.81, B.2.2).
    bytes.writeUInt32BE(0x75307530, bytes.indexOf(Buffer.of(0xff, 0xc0)) + 5);
    await expect(decode(bytes)).rejects.toMatchObject({
      code: 'too-large',
      message: 'a has 900 megapixels, more than the 200 this program reads. Give single frames, binned if need be.',
    });
  });
  it('or read, but raise nothing but a PolewardError, cut anywhere or with bytes changed', async () => {
    const files = ['grey16.png', 'grey16.tif', 'exif.jpg', 'colour8.tif', 'exif.tif'].map((name) => readFileSync(folder + name));
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...files), fc.nat(999), fc.array(fc.tuple(fc.nat(999), fc.nat(255)), { maxLength: 3 }),
        async (file, cut, changes) => {
        const bytes = Buffer.from(cut % 2 ? file.subarray(0, cut) : file);
        for (const [at, byte] of changes) if (at >= 8 && at < bytes.length) bytes[at] = byte;
        if (bytes.length < 8) return;
        try {
          const { image } = await decode(bytes);
          expect(image.data.length).toBe(image.width * image.height);
        } catch (error) {
          expect(error).toBeInstanceOf(PolewardError);
        }
      }),
      { numRuns: 120 },
    );
  });
});

/** The cyclic redundancy check of PNG (ISO 3309), bit by bit. */
function crc32(bytes: Buffer): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return ~crc >>> 0;
}
