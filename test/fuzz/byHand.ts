/** Inputs of the kinds that people found by hand, made from seeds: files that mean harm, and files that just go wrong. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { gzipSync } from 'node:zlib';
import sharp, { type Sharp } from 'sharp';
import type { Image } from '../../src/frames/frame.js';
import { readFrame } from '../../src/node/readFrame.js';
import type { Random } from '../../src/simulate/random.js';
import { card, fitsFile, headerBytes } from '../frames/fitsBytes.js';
import { jpegInPasses } from '../frames/jpegPasses.js';
import { type Tag, TiffWriter } from '../frames/tiffBytes.js';
import { below, chance, EDGES, mutate, noise, oneOf } from './mutate.js';
import { outcome, readAny, type Outcome, type Reader } from './readers.js';
import { unsoundFrame } from './sound.js';

export const BY_HAND: readonly Reader[] = [
  { name: 'costs', share: 0.03, setUp: async () => costs, read: readAny },
  { name: 'specks', share: 0.02, setUp: async () => specks, read: readAny },
  { name: 'kinds', share: 0.04, setUp: async () => kinds, read: readAny },
  { name: 'words', share: 0.03, setUp: async () => words, read: readAny },
  { name: 'filled', share: 0.03, setUp: async () => { const seeds = await wholeFrames(); return (random) => filled(random, seeds); },
    read: readFilled },
  { name: 'paths', share: 0.01, setUp: async () => (random) => noise(random, 40), read: readPath },
];

/** Files that cost more work than their size shows, up to some hundred milliseconds: passes, lines, cards, units. */
function costs(random: Random): Buffer {
  switch (below(random, 5)) {
    case 0: return jpegInPasses(1 + below(random, 600), 1 + below(random, 600), 1 + below(random, 1200));
    case 1: {
      const long = oneOf(random, [300, 5000, 70_000]);
      const axes = chance(random, 0.5) ? [1, long] : [long, 1];
      return fitsFile(8, axes, chance(random, 0.5) ? Buffer.alloc(long, 20) : noise(random, long));
    }
    case 2: return packed(random, fitsFile(8, [10, 10], Buffer.alloc(100), cards(random, below(random, 3000))));
    case 3: {
      const unit = headerBytes([card('XTENSION', "'IMAGE   '"), card('BITPIX', 8), card('NAXIS', 0), ...cards(random, below(random, 60))]);
      return packed(random, Buffer.concat([fitsFile(8, [10, 10], Buffer.alloc(100)), ...Array<Buffer>(below(random, 200)).fill(unit)]));
    }
    // What follows in a zipped file.
    default: return Buffer.concat([gzipSync(fitsFile(8, [30, 20], noise(random, 600))), noise(random, below(random, 300))]);
  }
}

const packed = (random: Random, bytes: Buffer): Buffer => (chance(random, 0.5) ? gzipSync(bytes) : bytes);

function cards(random: Random, count: number): string[] {
  const continued = chance(random, 0.5);
  return Array.from({ length: count }, (_, i) => (continued
    ? `${i === 0 ? 'OBJECT  = ' : 'CONTINUE  '}${'9'.repeat(below(random, 68))}&'`
    : card(`K${i}`, oneOf(random, EDGES)))).map((text) => text.slice(0, 80));
}

/** Saturated, hot and blank pixels strewn by rules over a small picture of noise. */
function specks(random: Random): Buffer {
  const [width, height] = [20 + below(random, 300), 20 + below(random, 300)];
  const data = Buffer.alloc(2 * width * height);
  const [every, along, down, level] = [1 + below(random, 200), 1 + below(random, 9), 1 + below(random, 9),
    oneOf(random, [32767, 32767, 20_000, 3000])];
  const rule = below(random, 5);
  const isSpeck = (x: number, y: number): boolean => [
    (x * 7919 + y * 104_729) % every === 0, x % along === 0 && y % down === 0, x % along === 0 || y % down === 0,
    x * 3 > width && x * 3 < 2 * width && y * 3 > height && y * 3 < 2 * height, y % 30 < 8 || (x % along === 0 && y % 30 < 22),
  ][rule]!;
  for (let i = 0; i < width * height; i++) {
    data.writeInt16BE(isSpeck(i % width, Math.floor(i / width)) ? level : 1000 + below(random, 64), 2 * i);
  }
  return fitsFile(16, [width, height], data, chance(random, 0.5) ? [card('BZERO', 32768)] : []);
}

/** Drawings behind the marks of pictures, and TIFF of all compressions, samples and tiles. */
function kinds(random: Random): Buffer {
  if (chance(random, 0.3)) {
    const side = oneOf(random, [10, 1000, 30_000]);
    const drawing = `<svg xmlns="http://www.w3.org/2000/svg" width="${side}" height="${side}"><rect width="${side}" `
      + `height="${side}"/></svg>`;
    const mark = oneOf(random, ['<!--ftypavif-->', '<!--ftypmif1xxxxavif-->', '\xff\xd8\xff', 'RIFF    WEBP', 'II*\0\x08\0\0\0',
      '\x89PNG\r\n\x1a\n', 'SIMPLE  =', '']);
    return Buffer.from(mark + drawing, 'latin1');
  }
  const write = new TiffWriter(chance(random, 0.3));
  const [width, height] = [1 + below(random, 70), 1 + below(random, 70)];
  /** Mostly the ordinary choice, sometimes another. */
  const or = (plain: number, others: readonly number[]): number => (chance(random, 0.75) ? plain : oneOf(random, others));
  const bits = or(8, [1, 2, 4, 10, 12, 14, 16, 24, 32, 64, 128]);
  const samples = or(1, [2, 3, 4, 5]);
  const data = noise(random, Math.ceil(width * bits / 8) * height * samples);
  const at = write.add(data);
  const tiled = chance(random, 0.2);
  const side = oneOf(random, [16, 32, 64, 24, 0, 7]);
  const tags: Tag[] = [
    [256, 4, [width]], [257, 4, [height]], [258, 3, Array<number>(samples).fill(bits)],
      [262, 3, [or(samples < 3 ? 1 : 2, [0, 2, 3, 5, 6, 8, 32844])]],
    [259, 3, [or(1, [2, 3, 4, 5, 6, 7, 8, 32773, 32946, 34712, 34887, 34925, 50000, 50001, 50002, 32809, 34661, 99])]],
    [277, 3, [samples]], [284, 3, [or(1, [2])]], [339, 3, [or(1, [2, 3, 4, 5, 6, 9])]],
    ...((tiled
      ? [[322, 4, [side]], [323, 4, [side]], [324, 4, [at]], [325, 4, [data.length]]]
      : [[273, 4, [at]], [278, 4, [height]], [279, 4, [data.length]]]) as Tag[]),
  ];
  return write.file(tags.filter(() => chance(random, 0.97)));
}

/** What steers a terminal or hides in a line, in UTF-8 and as single bytes. */
const STEERING = ['\x1b[2J', '\x9b31m', '\x07', '\r', '\x7f', '\u202e', '\u2066', '\u200b', '\ufeff', '\u2028', '\u00ad', '\u{e0041}'];

/** Words with such in them, in the headers of FITS, in EXIF and in XMP. */
function words(random: Random): Buffer {
  const text = Array.from({ length: 1 + below(random, 4) }, () => oneOf(random, STEERING) + oneOf(random, ['a', 'M31', ''])).join('');
  const pixels = Buffer.alloc(100);
  switch (below(random, 3)) {
    case 0: {
      const keyword = oneOf(random, ['DATE-OBS', 'EXPTIME', 'SITELAT', 'BINNING', 'TIMESYS', 'ZCMPTYPE', 'OBJECT', 'EXTNAME', 'XPIXSZ']);
      const bytes = fitsFile(8, [10, 10], pixels, [card(keyword, "'".padEnd(60, 'x'))]);
      Buffer.from(`'${text}'`, chance(random, 0.5) ? 'utf8' : 'latin1')
        .copy(bytes, bytes.indexOf(`${keyword.padEnd(8)}=`, 0, 'latin1') + 10, 0, 60);
      return bytes;
    }
    case 1: {
      const write = new TiffWriter(false);
      const photo: Tag[] = [[36867, 2, text], [36881, 2, `+01${text}`], [33434, 5, [1, 3]], [37377, 10, [oneOf(random, EDGES), 1]]];
      return write.file([
        [256, 4, [10]], [257, 4, [10]], [258, 3, [8]], [259, 3, [1]], [262, 3, [1]], [273, 4, [write.add(pixels)]], [277, 3, [1]],
          [278, 4, [10]],
        [279, 4, [100]], [34665, 4, [write.directory(photo)]],
      ]);
    }
    default: {
      const write = new TiffWriter(false);
      const time = oneOf(random, ['2026-11-25T20:30:00+01:00', `2026-11-25T20:30:00${text}`, text, '2026-02-31T00:00:00Z', '']);
      const xmp = Buffer.from(`<x exif:DateTimeOriginal="${time}" `
        + `exif:ExposureTime="${oneOf(random, ['30/1', '1/0', '-1', text, '9e999'])}">`);
      return write.file([
        [256, 4, [10]], [257, 4, [10]], [258, 3, [8]], [259, 3, [1]], [262, 3, [1]], [273, 4, [write.add(pixels)]], [277, 3, [1]],
          [278, 4, [10]],
        [279, 4, [100]], [700, 7, chance(random, 0.8) ? xmp : mutate(random, xmp, xmp)],
      ]);
    }
  }
}

/** Whole frames of noise in many formats. */
async function wholeFrames(): Promise<Buffer[]> {
  const [width, height] = [120, 90];
  const value = (i: number): number => 40 + ((i * 7919) >> 3) % 97;
  const grey = (): Sharp => sharp(Uint8Array.from({ length: width * height }, (_, i) => value(i)), { raw: { width, height, channels: 1 } });
  const fits = (bitpix: number, put: (bytes: Buffer, i: number) => void, planes = 1, more: string[] = []): Buffer => {
    const data = Buffer.alloc((width * height * planes * Math.abs(bitpix)) / 8);
    for (let i = 0; i < width * height * planes; i++) put(data, i);
    return fitsFile(bitpix, planes === 1 ? [width, height] : [width, height, planes], data, more);
  };
  return [
    fits(8, (data, i) => data.writeUInt8(value(i), i)), fits(16, (data, i) => data.writeInt16BE(value(i), 2 * i)),
    fits(16, (data, i) => data.writeInt16BE(value(i) - 32768, 2 * i), 1, [card('BZERO', 32768)]),
      fits(32, (data, i) => data.writeInt32BE(value(i), 4 * i)),
    fits(-32, (data, i) => data.writeFloatBE(value(i), 4 * i)), fits(-64, (data, i) => data.writeDoubleBE(value(i), 8 * i)),
    fits(16, (data, i) => data.writeInt16BE(value(i), 2 * i), 3), gzipSync(fits(16, (data, i) => data.writeInt16BE(value(i), 2 * i))),
    ...await Promise.all([grey().png(), grey().jpeg(), grey().jpeg({ progressive: true }), grey().webp(), grey().webp({ lossless: true }),
      grey().avif({ effort: 1 }), grey().tiff({ compression: 'none' }), grey().tiff({ compression: 'lzw' })]
      .map((image) => image.toBuffer())),
  ];
}

/** A file in its full size, filled from the start to somewhere between 10 and 85 percent: behind that some have no more than padding. */
function filled(random: Random, seeds: readonly Buffer[]): Buffer {
  const whole = oneOf(random, seeds);
  return Buffer.from(whole).fill(oneOf(random, [0, 0xff]), Math.floor((0.1 + 0.75 * random.uniform()) * whole.length));
}

/** Such a file must be refused, or said to be unfinished. */
function readFilled(path: string): Promise<Outcome> {
  return outcome(async () => {
    const frame = await readFrame(path);
    return unsoundFrame(frame) ?? (frame.unfinished || endsWithRows(frame.image) ? null : 'taken for whole');
  });
}

/** True where what is one value at a picture's end begins with a row: that may be its edge. */
function endsWithRows({ width, data }: Image): boolean {
  let start = data.length;
  while (start > 0 && Object.is(data[start - 1], data[data.length - 1])) start--;
  return data.length - start >= width && start % width === 0;
}

/** Something that is no regular file, or has a name that is none, by the first byte of the input: all are refused in a sentence. */
function readPath(path: string): Promise<Outcome> {
  const folder = mkdtempSync(join(dirname(path), 'path-'));
  const bytes = readFileSync(path);
  const inside = (name: string): string => join(folder, name);
  const made = [
    () => { execFileSync('mkfifo', [inside('pipe')]); return inside('pipe'); },
    () => { mkdirSync(inside('a.fits')); return inside('a.fits'); },
    () => { symlinkSync(inside('back'), inside('there')); symlinkSync(inside('there'), inside('back')); return inside('there'); },
    () => { symlinkSync(inside('none'), inside('link')); return inside('link'); },
    () => oneOfBytes(bytes, ['/dev/zero', '/dev/null', '/dev/urandom', '/dev/tty']),
    () => inside('n'.repeat(200 + 20 * (bytes[1] ?? 0))),
    () => { const name = inside(`${STEERING[(bytes[1] ?? 0) % STEERING.length]}.fits`); writeFileSync(name, bytes); return name; },
    () => inside(bytes.toString('latin1').replace(/[/\0]/g, '')),
    () => inside(`${bytes.toString('utf8').replace(/[/\0]/g, '')}\0.fits`),
    () => '',
  ];
  return outcome(async () => {
    await readFrame((made[(bytes[0] ?? 0) % made.length] as () => string)());
    return 'read what is no frame';
  }).finally(() => rmSync(folder, { recursive: true, force: true }));
}

function oneOfBytes(bytes: Buffer, list: readonly string[]): string {
  return list[(bytes[1] ?? 0) % list.length] as string;
}
