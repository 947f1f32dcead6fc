import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { parseDateTime } from '../../src/frames/dateText.js';
import { decodeFits } from '../../src/frames/decodeFits.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { readFrame } from '../../src/node/readFrame.js';
import { parseDegrees } from '../../src/frames/sexagesimal.js';
import { timeScaleNamed, toUtc } from '../../src/frames/timeScale.js';

// Written and read by astropy 5.2.1: testdata/frames/make.py.
const folder = new URL('../../testdata/frames/', import.meta.url).pathname;

interface Picture {
  readonly width: number;
  readonly height: number;
  readonly data: readonly (number | null)[];
  readonly header: Readonly<Record<string, string | number | boolean>>;
}
const expected = JSON.parse(readFileSync(`${folder}expected.json`, 'utf8')) as {
  fits: Record<string, Picture>;
  utc: [scale: string, moment: string, utc: string][];
  degrees: [text: string, degrees: number][];
};

describe('FITS files written by astropy', () => {
  it.each(Object.entries(expected.fits))('%s has the pixels that astropy reads', async (name, picture) => {
    const { image } = await readFrame(folder + name);
    expect([image.width, image.height]).toEqual([picture.width, picture.height]);
    // astropy scales 16-bit integers to 32-bit floats, and so do we; a last digit may differ.
    const near = name.startsWith('scaled') || name.startsWith('cube3');
    expect(image.data.length).toBe(picture.data.length);
    picture.data.forEach((value, i) => {
      if (value === null) expect(image.data[i]).toBeNaN();
      else if (near) expect(Math.abs((image.data[i] as number) - value)).toBeLessThanOrEqual(Math.abs(value) * 2 ** -23);
      else expect(image.data[i]).toBe(value);
    });
  });

  it.each([
    ['uint8', Uint8Array, 255],
    ['int8', Int16Array, 127],
    ['int16', Int16Array, 32767],
    ['uint16', Uint16Array, 65535],
    ['int32', Int32Array, 2147483647],
    ['uint32', Uint32Array, 4294967295],
    ['int64', Float64Array, 2 ** 63],
    ['uint64', Float64Array, 2 ** 64],
    ['float32', Float32Array, null],
    ['float64', Float64Array, null],
    ['scaled16', Float32Array, 100 + 0.5 * 32767],
    ['scaled32', Float64Array, -7 + 2.5e-3 * 2147483647],
    ['blank16', Float32Array, 65535],
    ['blank32', Float64Array, 2147483647],
    ['cube3', Float32Array, 65535],
  ])('%s comes in the smallest type that is exact, with its ceiling', async (name, type, ceiling) => {
    const { image } = await readFrame(`${folder}${name}.fits`);
    expect(image.data).toBeInstanceOf(type);
    expect(image.ceiling).toBe(ceiling);
  });

  it.each(Object.entries(expected.fits))('%s has the header values that astropy reads', async (name, { header }) => {
    const { headers } = await decodeFits(readFileSync(folder + name), name, nodeDecoders.gunzip);
    for (const [keyword, value] of Object.entries(header)) expect([keyword, headers.get(keyword)]).toEqual([keyword, value]);
  });

  it('takes the time from the primary header where the picture is in an extension', async () => {
    const { metadata } = await readFrame(`${folder}extension.fits`);
    expect(metadata.midExposure).toEqual({ value: new Date('2026-11-25T19:30:00Z'), from: 'FITS DATE-OBS' });
  });
});

describe('times and angles as astropy has them', () => {
  it.each(expected.utc)('%s %s is UTC %s', (scale, moment, utc) => {
    const known = timeScaleNamed(scale);
    if (known === 'unzoned') throw new Error(`${scale} should be known`);
    // TDB is taken for TT (2 ms), and astropy prints milliseconds.
    expect(Math.abs(toUtc(parseDateTime(moment)?.clock ?? NaN, known) - Date.parse(`${utc}Z`))).toBeLessThan(3);
  });

  it.each(expected.degrees)('%s is %d°', (text, degrees) => {
    expect(parseDegrees(text)).toBeCloseTo(degrees, 12);
  });
});
