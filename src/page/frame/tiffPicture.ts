import { fromArrayBuffer } from 'geotiff';
import type { OpenPicture, PictureSamples } from '../../frames/decoders.js';
import type { PixelArray } from '../../frames/frame.js';
import { type TiffEntries, tiffStructure } from '../../frames/tiffDirectory.js';
import { lzwWithin } from './lzwWithin.js';
import { packedWithin } from './packedWithin.js';

/** Tags of TIFF 6.0. */
const TAG = {
  width: 256, height: 257, bits: 258, compression: 259, meaning: 262, strips: 273, channels: 277, rows: 278, stripBytes: 279, extra: 338,
  format: 339, tileWidth: 322, tileHeight: 323, tiles: 324, tileBytes: 325,
} as const;
const [WHITE_IS_0, BLACK_IS_0, RGB] = [0, 1, 2];
/** Other ways to store colours, by number. */
const OTHER_COLOURS: Readonly<Record<number, string>> = { 3: 'a palette', 5: 'inks', 6: 'brightness and colour apart', 8: 'L*a*b*' };
const LZW = 5;
const ZLIB = [8, 32946];
/** More strips, tiles or pictures than a file has. */
const [MOST_PIECES, MOST_PAGES] = [100_000, 1000];

/** The first picture of a TIFF file, unpacked by `geotiff`. Throws where there is none. Source: TIFF 6.0 (1992). */
export function tiffPicture(bytes: Uint8Array): OpenPicture {
  const structure = tiffStructure(bytes);
  const first = structure?.directory(structure.first);
  if (!structure || !first) throw new Error('no directory');
  const { entries } = first;
  const number = (tag: number, otherwise: number): number => entries.get(tag)?.number(0) ?? otherwise;
  const [width, height, channels] = [number(TAG.width, 0), number(TAG.height, 0), number(TAG.channels, 1)];
  const [bits, format, meaning] = [number(TAG.bits, 1), number(TAG.format, 1), number(TAG.meaning, BLACK_IS_0)];
  // With strips of no rows the library never ends.
  const pieces = [TAG.rows, TAG.tileWidth, TAG.tileHeight].map((tag) => number(tag, 1));
  const counts = [width, height, channels, ...pieces].every((value) => Number.isInteger(value) && value > 0);
  if (!counts || ![8, 16, 32, 64].includes(bits)) throw new Error('no picture that is read');
  let pages = 1;
  for (let at = first.next; at !== 0 && pages < MOST_PAGES; pages++) at = structure.directory(at)?.next ?? 0;
  const usual = [WHITE_IS_0, BLACK_IS_0, RGB].includes(meaning);
  return {
    width, height, channels, pages, exif: null, xmp: null, inPasses: false,
    sampleBytes: bits / 8 as OpenPicture['sampleBytes'], floatingPoint: format === 3,
    otherColours: usual ? null : OTHER_COLOURS[meaning] ?? `kind ${meaning}`,
    samples: async () => {
      const whole = width * height * channels * bits / 8;
      if (!await unpacksToItself(bytes, entries, whole)) throw new Error('it unpacks to more than its picture');
      const opaque = Math.max(1, channels - (entries.get(TAG.extra)?.count ?? 0));
      return samplesOf(bytes, { width, height, opaque }, meaning === WHITE_IS_0);
    },
  };
}

/** No strip or tile unpacks to more than the whole picture, with room for tiles that stand over its edge. */
async function unpacksToItself(bytes: Uint8Array, entries: TiffEntries, pictureBytes: number): Promise<boolean> {
  const compression = entries.get(TAG.compression)?.number(0) ?? 1;
  if (compression !== LZW && !ZLIB.includes(compression)) return true;
  const tiled = entries.has(TAG.tiles);
  const [places, sizes] = tiled ? [TAG.tiles, TAG.tileBytes] : [TAG.strips, TAG.stripBytes];
  const whole = pictureBytes + 2 ** 20;
  for (let i = 0; i < Math.min(entries.get(places)?.count ?? 0, MOST_PIECES); i++) {
    const [from, length] = [entries.get(places)?.number(i), entries.get(sizes)?.number(i)];
    if (typeof from !== 'number' || typeof length !== 'number') return true;
    if (compression === LZW) {
      if (!lzwWithin(bytes.subarray(from, from + length), whole)) return false;
      continue;
    }
    // Deflate makes at most 1032 bytes of one: most strips need no counting.
    if (length * 1032 > whole && !await packedWithin([bytes.subarray(from, from + length)], 'deflate', whole)) return false;
  }
  return true;
}

async function samplesOf(
  bytes: Uint8Array, { width, height, opaque }: { readonly width: number; readonly height: number; readonly opaque: number },
  whiteIs0: boolean,
): Promise<PictureSamples> {
  const buffer = bytes.byteOffset === 0 && bytes.byteLength === bytes.buffer.byteLength ? bytes.buffer : bytes.slice().buffer;
  const image = await (await fromArrayBuffer(buffer as ArrayBuffer)).getImage(0);
  // A tag that should hold one number may hold many, or be missing: the library uses what it finds.
  if (image.getWidth() !== width || image.getHeight() !== height) throw new Error('a size that is none');
  const raster = await image.readRasters({ interleave: true });
  const data = raster as unknown as PixelArray;
  const channels = data.length / (width * height);
  const shown = Math.min(channels, opaque);
  if (channels !== shown) {
    for (let i = 0; i < width * height; i++) for (let c = 0; c < shown; c++) data[i * shown + c] = data[i * channels + c]!;
  }
  const ceiling = ceilingOf(data);
  if (whiteIs0 && ceiling !== null) for (let i = 0; i < data.length; i++) data[i] = ceiling - data[i]!;
  return { width, height, channels: shown, data: data.subarray(0, width * height * shown), ceiling };
}

function ceilingOf(data: PixelArray): number | null {
  if (data instanceof Uint8Array) return 255;
  if (data instanceof Uint16Array) return 65535;
  if (data instanceof Int16Array) return 32767;
  if (data instanceof Uint32Array) return 2 ** 32 - 1;
  return data instanceof Int32Array ? 2 ** 31 - 1 : null;
}
