import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readFrame } from '../../src/node/readFrame.js';

// Written by astropy 5.2.1, whose tiles cfitsio compresses, and read back by it: testdata/frames/compressed/make.py.
const folder = new URL('../../testdata/frames/compressed/', import.meta.url).pathname;
const expected = JSON.parse(readFileSync(`${folder}expected.json`, 'utf8')) as Record<string, {
  width: number; height: number; data: (number | null)[]; tiles?: Record<string, number>;
}>;
const names = Object.keys(expected);

describe('compressed FITS files written by astropy', () => {
  it('are of all the kinds that are said to be read', () => {
    for (const method of ['rice_1', 'gzip_1', 'gzip_2']) {
      for (const kind of ['uint8', 'int16', 'uint16', 'int32', 'uint32']) expect(names).toContain(`${kind}-${method}.fits.fz`);
      for (const kind of ['float32', 'float64']) {
        for (const dither of ['no-dither', 'dither-1', 'dither-2']) expect(names).toContain(`${kind}-${method}-${dither}.fits.fz`);
      }
    }
    // Tiles that could not be quantised stand beside those that were.
    expect(expected['float32-fallback.fits.fz']?.tiles).toMatchObject({ GZIP_COMPRESSED_DATA: 1, COMPRESSED_DATA: 21 });
  });

  it.each(names)('%s has the pixels that astropy reads', async (name) => {
    const { image, pixelOffset } = await readFrame(folder + name);
    const { width, height, data } = expected[name]!;
    expect([image.width, image.height]).toEqual([width, height]);
    expect(image.data.length).toBe(data.length);
    if (name.startsWith('mosaic')) {
      // The mean of the four pixels from each one on, rounded half up.
      expect(pixelOffset).toBe(0.5);
      for (let y = 0; y < height - 1; y++) {
        for (let x = 0; x < width - 1; x++) {
          const i = y * width + x;
          const sum = [i, i + 1, i + width, i + width + 1].reduce((total, at) => total + (data[at] as number), 0);
          expect(image.data[i]).toBe(Math.floor(sum / 4 + 0.5));
        }
      }
      return;
    }
    // Where values are scaled, astropy computes in single precision, and a last digit may differ.
    const relative = name.includes('scaled') || name.startsWith('cube3') || (name.startsWith('float') && !name.includes('exact'))
      ? 2 ** -22 : 0;
    data.forEach((value, i) => {
      if (value === null) expect(image.data[i], `pixel ${i}`).toBeNaN();
      else expect(Math.abs((image.data[i] as number) - value), `pixel ${i}`).toBeLessThanOrEqual(Math.abs(value) * relative);
    });
  });

  it.each([
    ['uint8-rice_1.fits.fz', Uint8Array, 255],
    ['int16-gzip_2.fits.fz', Int16Array, 32767],
    ['uint16-rice_1.fits.fz', Uint16Array, 65535],
    ['uint32-gzip_1.fits.fz', Uint32Array, 4294967295],
    ['float32-rice_1-dither-1.fits.fz', Float32Array, null],
    ['float64-gzip_2-exact.fits.fz', Float64Array, null],
    ['uint16.fits.gz', Uint16Array, 65535],
  ])('%s comes in the smallest type that is exact, with its ceiling', async (name, type, ceiling) => {
    const { image } = await readFrame(folder + name);
    expect(image.data).toBeInstanceOf(type);
    expect(image.ceiling).toBe(ceiling);
  });

  it.each(['PLIO_1', 'HCOMPRESS_1'])('by %s are refused, with the way out', async (method) => {
    const path = `${folder}${method.toLowerCase()}.fits.fz`;
    await expect(readFrame(path)).rejects.toMatchObject({
      code: 'not-an-image',
      message: `${path} is compressed by ${method}, which this program doesn't read (it reads RICE_1, GZIP_1, GZIP_2). Save it as plain `
        + `FITS or with RICE_1.`,
    });
  });

  it('of several pictures give the largest, of equal ones the first, and say which', async () => {
    const { image, notes } = await readFrame(`${folder}several.fits`);
    expect([image.width, image.height, image.data[0]]).toEqual([45, 22, expected['several.fits']!.data[0]]);
    expect(notes[0]).toBe('It holds 3 pictures; unit 3 (SCI), 45 × 22, was used: the largest, of equal ones the first.');
  });

  it('in gzip keep what their header says', async () => {
    const { metadata } = await readFrame(`${folder}uint16.fits.gz`);
    expect(metadata.midExposure).toEqual({ value: new Date('2026-11-25T19:30:00Z'), from: 'FITS DATE-OBS' });
  });
});
