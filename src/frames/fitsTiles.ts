import { PolewardError } from '../error.js';
import type { FrameDecoders } from './decoders.js';
import { type Dither, dequantise } from './ditherTile.js';
import type { FitsHeaders } from './fitsCard.js';
import { axisLengths, BITPIX, damaged, type Hdu, integer, truncated } from './fitsHdu.js';
import { toNative } from './fitsPixels.js';
import { type FitsTable, fitsTable } from './fitsTable.js';
import { decodeRice, type RiceBytes } from './riceTile.js';
import { refuseUnpacking } from './tooLarge.js';

type TilePixels = Uint8Array | Int16Array | Int32Array | BigInt64Array | Float32Array | Float64Array;

/** Compressions by their ZCMPTYPE; RICE_ONE is an old name. */
const METHODS = ['RICE_1', 'RICE_ONE', 'GZIP_1', 'GZIP_2', 'NOCOMPRESS'] as const;
type Method = (typeof METHODS)[number];

/** Tiles are rows, or larger. Only this many may have fewer than this many pixels: each tile takes time of its own. */
const MOST_SMALL_TILES = 20_000;
const SMALL_TILE = 1000;

interface TileHow {
  readonly method: Method;
  readonly bitpix: number;
  readonly riceBytes: RiceBytes;
  readonly riceBlock: number;
  readonly dither: Dither;
  /** 1 to 10,000. */
  readonly ditherSeed: number;
  readonly gunzip: FrameDecoders['gunzip'];
  readonly file: string;
}

/** BITPIX and axes of the picture that a compressed table holds, or null where the table holds none. */
export function tiledShape({ headers }: Hdu, file: string): { bitpix: number; axes: number[] } | null {
  if (headers.get('ZIMAGE') !== true) return null;
  const bitpix = integer(headers, 'ZBITPIX', file);
  if (!BITPIX.includes(bitpix)) throw damaged(file, `ZBITPIX ${bitpix} is none that FITS knows`);
  return { bitpix, axes: axisLengths(headers, file, 'Z') };
}

/**
 * Stored pixels of a tile-compressed picture, in the machine's byte order (see `scalePixels`): RICE_1, GZIP_1, GZIP_2, with
 * floating-point values quantised or not, dithered or not, and tiles left uncompressed.
 * Throws {@link PolewardError} `not-an-image` for other compressions, `file-truncated` where tiles are damaged, `too-large`.
 * Source: FITS Standard 4.0 (2018), section 10.
 */
export function untile(hdu: Hdu, bitpix: number, axes: readonly number[], file: string, gunzip: FrameDecoders['gunzip']): Uint8Array {
  const { headers, data } = hdu;
  const count = axes.reduce((a, b) => a * b, 1);
  refuseUnpacking(count, Math.abs(bitpix) / 8, data.length, file);
  const how = { ...tileHow(headers, bitpix, file), gunzip };
  const table = fitsTable(headers, data, file);
  const sides = axes.map((length, i) => tileSide(headers, i + 1, i === 0 ? length : 1, file));
  const tilesAlong = axes.map((length, i) => Math.ceil(length / (sides[i] as number)));
  const tiles = tilesAlong.reduce((a, b) => a * b, 1);
  if (tiles > MOST_SMALL_TILES && tiles * SMALL_TILE > count) throw damaged(file, `it divides the picture into ${tiles} tiles`);
  if (tiles > table.rows) throw truncated(file, `has ${table.rows} of the ${tiles} tiles of its compressed picture`);

  const pixels = pixelArray(bitpix, count);
  for (let tile = 0; tile < tiles; tile++) {
    const place: { from: number; length: number }[] = [];
    let rest = tile;
    axes.forEach((length, i) => {
      const from = (rest % (tilesAlong[i] as number)) * (sides[i] as number);
      rest = Math.floor(rest / (tilesAlong[i] as number));
      place.push({ from, length: Math.min(sides[i] as number, length - from) });
    });
    const size = place.reduce((product, { length }) => product * length, 1);
    putTile(pixels, axes, place, decodeTile(table, headers, tile, size, how));
  }
  return new Uint8Array(pixels.buffer, pixels.byteOffset, pixels.byteLength);
}

function tileHow(headers: FitsHeaders, bitpix: number, file: string): Omit<TileHow, 'gunzip'> {
  const name = String(headers.get('ZCMPTYPE') ?? '').trim();
  const method = METHODS.find((m) => m === name);
  if (!method) {
    throw new PolewardError(
      'not-an-image', `${file} is compressed by ${name || 'a method it does not name'}, which this program doesn't read `
        + '(it reads RICE_1, GZIP_1, GZIP_2). Save it as plain FITS or with RICE_1.',
    );
  }
  const quantised = String(headers.get('ZQUANTIZ') ?? 'NO_DITHER').trim();
  const dither = (['SUBTRACTIVE_DITHER_1', 'SUBTRACTIVE_DITHER_2'] as const).find((d) => d === quantised) ?? 'NO_DITHER';
  const seed = headers.get('ZDITHER0');
  const riceBytes = parameter(headers, 'BYTEPIX', 4);
  const riceBlock = parameter(headers, 'BLOCKSIZE', 32);
  if (method.startsWith('RICE') && !((riceBytes === 1 || riceBytes === 2 || riceBytes === 4) && (riceBlock === 16 || riceBlock === 32))) {
    throw damaged(file, `Rice compression of ${riceBytes}-byte pixels in blocks of ${riceBlock} is none that FITS knows`);
  }
  return {
    method, bitpix, riceBytes: riceBytes as RiceBytes, riceBlock, dither, file,
    ditherSeed: typeof seed === 'number' && seed >= 1 && seed <= 10_000 ? Math.floor(seed) : 1,
  };
}

/** The parameter ZVALn whose ZNAMEn is `name`. */
function parameter(headers: FitsHeaders, name: string, otherwise: number): number {
  for (let n = 1; headers.has(`ZNAME${n}`); n++) {
    if (String(headers.get(`ZNAME${n}`)).trim() !== name) continue;
    const value = headers.get(`ZVAL${n}`);
    return typeof value === 'number' ? value : otherwise;
  }
  return otherwise;
}

function tileSide(headers: FitsHeaders, axis: number, otherwise: number, file: string): number {
  if (!headers.has(`ZTILE${axis}`)) return otherwise;
  const side = integer(headers, `ZTILE${axis}`, file);
  if (side < 1) throw damaged(file, `ZTILE${axis} is ${side}`);
  return side;
}

/** Stored values of one tile. */
function decodeTile(table: FitsTable, headers: FitsHeaders, tile: number, count: number, how: TileHow): TilePixels {
  const { file, bitpix } = how;
  try {
    if (table.cell('NULL_PIXEL_MASK', tile) !== null) {
      throw new PolewardError(
        'not-an-image', `${file} keeps its blank pixels in a mask of their own, which this program doesn't read. Save it as plain FITS.`,
      );
    }
    const compressed = table.cell('COMPRESSED_DATA', tile);
    const scale = table.number('ZSCALE', tile) ?? numberOrNull(headers, 'ZSCALE');
    if (compressed !== null) {
      const quantised = bitpix < 0 && scale !== null && headers.get('ZQUANTIZ') !== 'NONE';
      if (!quantised) return decompress(compressed.bytes, how.method, count, bitpix, how);
      const stored = decompress(compressed.bytes, how.method, count, 32, how) as Int32Array;
      return dequantise(stored, {
        scale, zero: table.number('ZZERO', tile) ?? numberOrNull(headers, 'ZZERO') ?? 0,
        blank: table.number('ZBLANK', tile) ?? numberOrNull(headers, 'ZBLANK'),
        dither: how.dither, tileSeed: tile + how.ditherSeed - 1,
      }, bitpix === -32 ? new Float32Array(count) : new Float64Array(count));
    }
    // Pixels that could not be quantised or compressed.
    const gzipped = table.cell('GZIP_COMPRESSED_DATA', tile);
    if (gzipped !== null) return decompress(gzipped.bytes, 'GZIP_1', count, bitpix, how);
    const plain = table.cell('UNCOMPRESSED_DATA', tile);
    if (plain !== null) return decompress(plain.bytes, 'NOCOMPRESS', count, bitpix, how);
  } catch (error) {
    if (error instanceof PolewardError) throw error;
    // Errors of the unpacker, and a RangeError where bytes end too early.
    throw truncated(file, `has a damaged compressed tile (${tile + 1})`);
  }
  throw truncated(file, `has nothing in its compressed tile ${tile + 1}`);
}

function decompress(bytes: Uint8Array, method: Method, count: number, bitpix: number, how: TileHow): TilePixels {
  if (method === 'RICE_1' || method === 'RICE_ONE') {
    if (bitpix < 0 || bitpix === 64) throw damaged(how.file, `Rice compression can't be that of ${bitpix}-bit pixels`);
    return decodeRice(bytes, count, how.riceBytes, how.riceBlock);
  }
  const plain = method === 'NOCOMPRESS' ? bytes : how.gunzip(bytes, count * 8);
  // Integers may be stored in a wider type than the picture's own.
  const size = plain.length / count;
  const fits = [1, 2, 4, 8].includes(size) && ((bitpix > 0 && bitpix !== 64) || size === Math.abs(bitpix) / 8);
  if (!fits) throw new RangeError('not as many bytes as pixels need');
  const ordered = method === 'GZIP_2' ? unshuffled(plain, size) : new Uint8Array(plain);
  toNative(ordered, size);
  const values = pixelArray(bitpix < 0 ? bitpix : 8 * size, ordered.buffer as ArrayBuffer);
  return values instanceof BigInt64Array && bitpix !== 64 ? Float64Array.from(values, Number) : values;
}

/** GZIP_2 sends the highest bytes of all pixels first, then the next, and so on: FITS 4.0, section 10.4.2. */
function unshuffled(bytes: Uint8Array, size: number): Uint8Array {
  const out = new Uint8Array(bytes.length);
  const count = bytes.length / size;
  for (let part = 0; part < size; part++) {
    for (let i = 0, from = part * count, to = part; i < count; i++, from++, to += size) out[to] = bytes[from] as number;
  }
  return out;
}

function pixelArray(bitpix: number, from: number | ArrayBuffer): TilePixels {
  // The constructors take a length or a buffer, but TypeScript wants to know which.
  const source = from as number;
  switch (bitpix) {
    case 8: return new Uint8Array(source);
    case 16: return new Int16Array(source);
    case 32: return new Int32Array(source);
    case 64: return new BigInt64Array(source);
    case -32: return new Float32Array(source);
    default: return new Float64Array(source);
  }
}

/** Copies a tile's rows to their places. */
function putTile(pixels: TilePixels, axes: readonly number[], place: readonly { from: number; length: number }[], tile: TilePixels): void {
  const width = place[0]?.length ?? 0;
  for (let row = 0, taken = 0; taken < tile.length; row++, taken += width) {
    let [at, stride, rest] = [place[0]?.from ?? 0, axes[0] as number, row];
    for (let i = 1; i < axes.length; i++) {
      const { from, length } = place[i] as { from: number; length: number };
      at += (from + (rest % length)) * stride;
      rest = Math.floor(rest / length);
      stride *= axes[i] as number;
    }
    // Both are BigInt64Array or neither is.
    (pixels as Int32Array).set(tile.subarray(taken, taken + width) as Int32Array, at);
  }
}

function numberOrNull(headers: FitsHeaders, keyword: string): number | null {
  const value = headers.get(keyword);
  return typeof value === 'number' && Number.isFinite(value) ? value : null;
}
