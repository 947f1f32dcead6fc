/**
 * Every format through the command line: the frames of testdata/skies/guide-north (rendered by other code, truth known) as each
 * kind of file that people save.
 */
import { spawn } from 'node:child_process';
import { copyFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import sharp from 'sharp';
import { beforeAll, describe, expect, test } from 'vitest';
import { readFrame } from '../../src/node/readFrame.js';
import { dngBytes } from '../frames/dngBytes.js';
import { card, fitsFile } from '../frames/fitsBytes.js';
import { type Tag, tiffBytes } from '../frames/tiffBytes.js';
import { tiledFile } from '../frames/tiledBytes.js';
import { skyFrameBytes, skyFrameNames, skyFramePaths, skyTruth } from '../skies.js';
import { poleward, scratchFolder } from './poleward.js';

interface Grey { readonly width: number; readonly height: number; readonly data: Uint16Array; readonly start: string }
interface Out {
  axis: { fromTruePole: { altitudeArcmin: number; azimuthArcmin: number }; sigma: { altitudeArcmin: number; azimuthArcmin: number } };
  frames: { utc: string; rotationCentre: { x: number; y: number }; pole: { x: number; y: number } }[];
  warnings: { code: string; message: string }[];
}
interface Seen { width: number; identified: number; pole: { x: number; y: number }; metadata: { midExposure: { value: string } } }

const { site, axisFromTruePole: truth, frames: truths } = skyTruth('guide-north');
const WORDS = ['--latitude', `${site.latitudeDeg}`, '--longitude', `${site.longitudeDeg}`, '--elevation', `${site.elevationMetres}`,
  '--pressure', `${site.pressureHectopascal}`, '--temperature', `${site.temperatureCelsius}`];
const plain = skyFramePaths('guide-north').slice(0, 3);
const exposure = truths[0]!.exposureSeconds;
let greys: Grey[] = [];
beforeAll(async () => {
  greys = await Promise.all(plain.map(async (path, i): Promise<Grey> => {
    const { image } = await readFrame(path);
    return { width: image.width, height: image.height, data: Uint16Array.from(image.data), start: truths[i]!.startUtc.replace('Z', '') };
  }));
});

const timeCards = ({ start }: Grey): string[] => [card('DATE-OBS', `'${start}'`), card('EXPTIME', exposure)];
const clock = ({ start }: Grey): string => start.slice(0, 19).replaceAll('-', ':').replace('T', ' ');
const exifTags = (grey: Grey): Tag[] => [
  [36867, 2, clock(grey)], [36881, 2, '+00:00'], [37521, 2, grey.start.slice(20) || '0'], [33434, 5, [Math.round(exposure * 1000), 1000]],
];
/** The mosaic a colour camera would have made of the frame under a greenish sky. */
const mosaic = ({ width, data }: Grey, gains: readonly number[]): Uint16Array =>
  data.map((value, i) => Math.round(value * (gains[(Math.floor(i / width) % 2) * 2 + ((i % width) % 2)] as number)));
const wide = (grey: Grey, bytesEach: number, write: (buffer: Buffer, value: number, at: number) => void): Buffer => {
  const bytes = Buffer.alloc(grey.data.length * bytesEach);
  grey.data.forEach((value, i) => write(bytes, value, i * bytesEach));
  return bytes;
};
const signed16 = (grey: Grey): Buffer => wide(grey, 2, (b, value, at) => b.writeUInt16BE(value ^ 0x8000, at));
const fits = (grey: Grey, bitpix: number, data: Buffer, more: string[] = []): Buffer =>
  fitsFile(bitpix, [grey.width, grey.height], data, [...timeCards(grey), ...more]);
const rows = (grey: Grey, bytes: Buffer): { COMPRESSED_DATA: Buffer }[] =>
  Array.from(
    { length: grey.height }, (_, y) => ({ COMPRESSED_DATA: gzipSync(bytes.subarray(y * grey.width * 2, (y + 1) * grey.width * 2)) }),
  );
const exif = (grey: Grey) =>
  ({
    IFD2: {
      DateTimeOriginal: clock(grey), OffsetTimeOriginal: '+00:00', SubSecTimeOriginal: grey.start.slice(20) || '0',
      ExposureTime: `${Math.round(exposure * 1000)}/1000`,
    },
  });
const grey16 = (grey: Grey) =>
  sharp(grey.data, { raw: { width: grey.width, height: grey.height, channels: 1 } }).toColourspace('grey16').withExif(exif(grey));
/** Eight bits, as a person's export has it: the sky at 40, 4 steps of the sensor to one. */
const grey8 = (grey: Grey) => {
  const sky = [...grey.data.subarray(0, 4001)].sort((a, b) => a - b)[2000]!;
  return sharp(
    Uint8Array.from(grey.data, (value) => Math.max(0, Math.min(255, 40 + (value - sky) / 4))),
    { raw: { width: grey.width, height: grey.height, channels: 1 } },
  ).withExif(exif(grey));
};
const preview = async (grey: Grey): Promise<{ jpeg: Buffer; width: number; height: number }> =>
  ({ jpeg: await grey8(grey).jpeg({ quality: 95 }).toBuffer(), width: grey.width, height: grey.height });

/** Kinds that `inspect` is tried on, too: it reads frames as `measure` does. */
const SHOWN = ['FITS colour mosaic', 'camera raw, RGGB', 'JPEG'];
/** Name, ending, and how the file is made of a frame. */
const FORMATS: readonly (readonly [string, string, (grey: Grey, i: number) => Buffer | Promise<Buffer>])[] = [
  ['FITS in gzip', '.fits.gz', (_, i) => gzipSync(skyFrameBytes('guide-north', skyFrameNames('guide-north')[i]!))],
  ['FITS in gzip that does not say so', '.fits', (grey) => gzipSync(fits(grey, 16, signed16(grey), [card('BZERO', 32768)]))],
  [
    'FITS in compressed tiles', '.fits.fz',
    (grey) =>
      tiledFile(
        16, [grey.width, grey.height], rows(grey, signed16(grey)), [card('ZCMPTYPE', "'GZIP_1'"), card('BZERO', 32768), ...timeCards(grey)],
      ),
  ],
  ['FITS of 32 bits', '.fit', (grey) => fits(grey, 32, wide(grey, 4, (b, value, at) => b.writeInt32BE(value, at)))],
  ['FITS of 64 bits', '.fits', (grey) => fits(grey, 64, wide(grey, 8, (b, value, at) => b.writeBigInt64BE(BigInt(value), at)))],
  ['FITS in floating point', '.fts', (grey) => fits(grey, -32, wide(grey, 4, (b, value, at) => b.writeFloatBE(value / 65535, at)))],
  [
    'FITS in three colours', '.fits',
    (grey) =>
      fitsFile(
        16, [grey.width, grey.height, 3], Buffer.concat([signed16(grey), signed16(grey), signed16(grey)]),
        [card('BZERO', 32768), ...timeCards(grey)],
      ),
  ],
  [
    'FITS colour mosaic', '.fits',
    (grey) =>
      fits(
        { ...grey, data: mosaic(grey, [0.7, 1, 1, 0.8]) }, 16, signed16({ ...grey, data: mosaic(grey, [0.7, 1, 1, 0.8]) }),
        [card('BZERO', 32768), card('BAYERPAT', "'RGGB'")],
      ),
  ],
  ['camera raw, RGGB', '.dng', (grey) => dngBytes({ ...grey, data: mosaic(grey, [0.7, 1, 1, 0.8]), exif: exifTags(grey) })],
  [
    'camera raw, GBRG, big-endian', '.dng',
    (grey) =>
      dngBytes({
        ...grey, data: mosaic(grey, [1, 0.8, 0.7, 1]), pattern: [1, 2, 0, 1], exif: exifTags(grey), bigEndian: true, orientation: 8,
      }),
  ],
  [
    'TIFF of 16 bits', '.tif',
    (grey) => tiffBytes(grey.width, grey.height, 16, wide(grey, 2, (b, value, at) => b.writeUInt16LE(value, at)), exifTags(grey), true),
  ],
  [
    'TIFF in floating point', '.tiff',
    (grey) => tiffBytes(grey.width, grey.height, 32, wide(grey, 4, (b, value, at) => b.writeFloatLE(value / 65535, at)), exifTags(grey)),
  ],
  ['PNG of 16 bits', '.png', (grey) => grey16(grey).png().toBuffer()],
  [
    'TIFF of 8 bits', '.tif',
    async (grey) => tiffBytes(grey.width, grey.height, 8, await grey8(grey).toColourspace('b-w').raw().toBuffer(), exifTags(grey)),
  ],
  ['JPEG', '.jpg', (grey) => grey8(grey).jpeg({ quality: 95 }).toBuffer()],
  ['WebP', '.webp', (grey) => grey8(grey).webp({ lossless: true }).toBuffer()],
  ['AVIF', '.avif', (grey) => grey8(grey).avif({ quality: 90, effort: 0 }).toBuffer()],
  [
    'camera raw that only has a preview', '.dng',
    async (grey) => dngBytes({ ...grey, compression: 12345, exif: exifTags(grey), preview: await preview(grey) }),
  ],
];

/** Two turned frames are enough: whatever the kind of file changes shows in them. */
const TAKEN = [0, 2] as const;

describe.each(FORMATS)('%s', (name, ending, make) => {
  test('is measured as well as it says, and its times and pixels are right', async () => {
    const folder = scratchFolder();
    const paths = await Promise.all(TAKEN.map(async (i) => {
      const path = join(folder, `frame ${i + 1}${ending}`);
      writeFileSync(path, await make(greys[i]!, i));
      return path;
    }));
    const ran = poleward('measure', ...paths, ...WORDS, '--json');
    expect(ran.status, ran.err).toBe(0);
    const out = JSON.parse(ran.out) as Out;
    expect(Math.abs(out.axis.fromTruePole.altitudeArcmin - truth.altitudeArcmin)).toBeLessThan(4 * out.axis.sigma.altitudeArcmin);
    expect(Math.abs(out.axis.fromTruePole.azimuthArcmin - truth.azimuthArcmin)).toBeLessThan(4 * out.axis.sigma.azimuthArcmin);
    // In pixels of the whole frame: half a pixel of shift would show.
    const off = ({ x, y }: { x: number; y: number }, [a, b]: readonly [number, number]): number => Math.hypot(x - a, y - b);
    for (const [k, { rotationCentre, pole, utc }] of out.frames.entries()) {
      const told = truths[TAKEN[k]!]!;
      expect(off(rotationCentre, told.axisPixel)).toBeLessThan(0.2);
      expect(off(pole, told.refractedPolePixel)).toBeLessThan(0.3);
      expect(Date.parse(utc)).toBeCloseTo(Date.parse(told.startUtc) + exposure * 500, -2);
    }
    if (!SHOWN.includes(name)) return;
    const shown = poleward('inspect', paths[1]!, ...WORDS, '--json');
    expect(shown.status, shown.err).toBe(0);
    const seen = JSON.parse(shown.out) as Seen;
    expect(seen.width).toBe(greys[2]!.width);
    expect(off(seen.pole, truths[2]!.refractedPolePixel)).toBeLessThan(0.3);
    expect(Date.parse(seen.metadata.midExposure.value)).toBeCloseTo(Date.parse(truths[2]!.startUtc) + exposure * 500, -2);
  });
});

describe('a raw file\'s preview', () => {
  test('is said to be one by measure, recheck and inspect', async () => {
    const folder = scratchFolder();
    const paths = await Promise.all(greys.map(async (grey, i) => {
      const path = join(folder, `${i + 1}.dng`);
      writeFileSync(path, dngBytes({ ...grey, compression: 12345, exif: exifTags(grey), preview: await preview(grey) }));
      return path;
    }));
    const session = join(folder, 'night.jsonl');
    const measured = poleward('measure', ...paths, ...WORDS, '--session', session);
    expect(measured.status, measured.err).toBe(0);
    expect(measured.err.replace(/\s+/g, ' ')).toMatch(/1\.dng, .*3\.dng: the raw pixels can't be decoded, so the preview inside was used/);
    const rechecked = poleward('recheck', paths[2]!, ...WORDS, '--session', session);
    expect(rechecked.err.replace(/\s+/g, ' ')).toMatch(/3\.dng: the raw pixels can't be decoded/);
    expect(poleward('inspect', paths[0]!, ...WORDS).out.replace(/\s+/g, ' ')).toMatch(/note: the raw pixels can't be decoded/);
  });
});

describe('watch', () => {
  test('takes frames of every ending, and waits for one that is not yet whole', async () => {
    const folder = scratchFolder();
    const made = new Map(await Promise.all(FORMATS.map(async ([name, ending, make], n) => {
      const i = n % 3;
      const path = join(folder, `${n} ${name}${ending}`);
      // A little more light each time: the same picture again would rightly be passed over.
      const grey = { ...greys[i]!, data: greys[i]!.data.map((value) => Math.min(65_535, Math.round(value * (1 + n / 100)))) };
      return [path, await make(grey, i)] as const;
    })));
    const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
    const child = spawn(process.execPath, [main, 'watch', folder, ...WORDS, '--json', '--no-session']);
    let [out, err] = ['', ''];
    let notice = (): void => {};
    child.stdout.setEncoding('utf8').on('data', (text: string) => { out += text; notice(); });
    child.stderr.setEncoding('utf8').on('data', (text: string) => { err += text; notice(); });
    const until = async (found: () => boolean): Promise<void> => {
      while (!found()) await new Promise<void>((resolve) => { notice = resolve; });
    };
    const ended = new Promise<number | null>((resolve) => { child.on('exit', resolve); });
    await until(() => out.includes('ready'));
    for (const [path, bytes] of made) {
      const before = out.split('\n').length;
      if (path.endsWith('.gz')) {
        writeFileSync(path, bytes.subarray(0, bytes.length / 2));
        writeFileSync(path, bytes.subarray(bytes.length / 2), { flag: 'a' });
      } else {
        writeFileSync(`${path}.part`, bytes);
        renameSync(`${path}.part`, path);
      }
      await until(() => out.split('\n').length > before || err !== '');
      expect(err, path).toBe('');
    }
    copyFileSync(plain[0]!, join(folder, 'ignored.tmp'));
    child.kill('SIGINT');
    expect(await ended).toBe(0);
  });
});
