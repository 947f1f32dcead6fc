import fc from 'fast-check';
import { readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { PolewardError } from '../../src/error.js';
import { decodeFits } from '../../src/frames/decodeFits.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { dequantise } from '../../src/frames/ditherTile.js';
import { decodeRice } from '../../src/frames/riceTile.js';
import { card } from './fitsBytes.js';
import { tiledFile } from './tiledBytes.js';

const folder = new URL('../../testdata/frames/compressed/', import.meta.url).pathname;
const gzip1 = card('ZCMPTYPE', "'GZIP_1  '");
const bytes = (hex: string): Buffer => Buffer.from(hex.replaceAll(' ', ''), 'hex');
const values = async (file: Buffer): Promise<number[]> => [...(await decodeFits(file, 'a.fits.fz', nodeDecoders.gunzip)).image.data];
const failure = async (file: Buffer): Promise<string> => {
  try {
    await decodeFits(file, 'a.fits.fz', nodeDecoders.gunzip);
  } catch (error) {
    if (error instanceof PolewardError) return `${error.code}: ${error.message}`;
    throw error;
  }
  throw new Error('should have been refused');
};

describe('tile-compressed pictures put together by hand (FITS 4.0, section 10)', () => {
  it('are laid tile by tile, ragged at the right and the top', async () => {
    // 3 x 3 pixels in tiles of 2 x 2: the pixels count 1 to 9 as laid.
    const tiles = ['0001 0002 0004 0005', '0003 0006', '0007 0008', '0009'].map((hex) => ({ COMPRESSED_DATA: gzipSync(bytes(hex)) }));
    const sides = [card('ZTILE1', 2), card('ZTILE2', 2)];
    expect(await values(tiledFile(16, [3, 3], tiles, [gzip1, ...sides]))).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9]);
    expect(await values(tiledFile(16, [3, 3], tiles, [gzip1, ...sides], true))).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9]);
  });
  it('have tiles of one row where no size is given', async () => {
    const tiles = ['0001 0002', '0003 0004'].map((hex) => ({ COMPRESSED_DATA: gzipSync(bytes(hex)) }));
    expect(await values(tiledFile(16, [2, 2], tiles, [gzip1]))).toEqual([1, 2, 3, 4]);
  });
  it('may have integers stored wider than their own', async () => {
    expect(await values(tiledFile(16, [2, 1], [{ COMPRESSED_DATA: gzipSync(bytes('00000001 fffffffe')) }], [gzip1]))).toEqual([1, -2]);
  });
  it('hold 64-bit integers', async () => {
    expect(await values(tiledFile(64, [2, 1], [{ COMPRESSED_DATA: gzipSync(bytes('0000000000000007 ffffffffffffffff')) }], [gzip1])))
      .toEqual([7, -1]);
  });
  it('may leave tiles uncompressed', async () => {
    const rows = [{ COMPRESSED_DATA: gzipSync(bytes('0001 0002')) }, { UNCOMPRESSED_DATA: bytes('0003 ffff') }];
    expect(await values(tiledFile(16, [2, 2], rows, [gzip1]))).toEqual([1, 2, 3, -1]);
    expect(await values(tiledFile(16, [2, 1], [{ COMPRESSED_DATA: bytes('0001 0002') }], [card('ZCMPTYPE', "'NOCOMPRESS'")])))
      .toEqual([1, 2]);
  });
  it('take scale, zero and blank from columns or from keywords, and BLANK of integers', async () => {
    const stored = gzipSync(bytes('00000001 00000002 80000001'));
    const keywords = [card('ZSCALE', 0.5), card('ZZERO', 10), card('ZBLANK', -2147483647)];
    expect(await values(tiledFile(-32, [3, 1], [{ COMPRESSED_DATA: stored }], [gzip1, ...keywords]))).toEqual([10.5, 11, NaN]);
    expect(await values(tiledFile(-64, [3, 1], [{ COMPRESSED_DATA: stored, ZSCALE: 0.5, ZZERO: 10, ZBLANK: -2147483647 }], [gzip1])))
      .toEqual([10.5, 11, NaN]);
    expect(await values(tiledFile(16, [2, 1], [{ COMPRESSED_DATA: gzipSync(bytes('8000 0001')) }],
      [gzip1, card('ZBLANK', -32768), card('BZERO', 32768)]))).toEqual([NaN, 32769]);
  });
  it('keep floating-point values that were not quantised', async () => {
    expect(await values(tiledFile(-32, [2, 1], [{ COMPRESSED_DATA: gzipSync(bytes('3f800000 c0200000')) }],
      [gzip1, card('ZQUANTIZ', "'NONE'")]))).toEqual([1, -2.5]);
  });
});

describe('damaged compressed pictures', () => {
  const tile = { COMPRESSED_DATA: gzipSync(bytes('0001 0002')) };
  it.each([
    ['fewer tiles than their size needs', tiledFile(16, [2, 2], [tile], [gzip1]),
      /^file-truncated: a.fits.fz is cut short: it has 1 of the 2 tiles/],
    ['a tile with nothing in it', tiledFile(16, [2, 2], [tile, {}], [gzip1]), /^file-truncated: .*nothing in its compressed tile 2/],
    ['a tile with too few pixels', tiledFile(16, [9, 1], [tile], [gzip1]), /^file-truncated: .*damaged compressed tile \(1\)/],
    ['a tile that unpacks to more than its pixels', tiledFile(16, [2, 1], [{ COMPRESSED_DATA: gzipSync(Buffer.alloc(1e6)) }], [gzip1]),
      /^file-truncated: .*damaged compressed tile/],
    ['no gzip in it', tiledFile(16, [2, 1], [{ COMPRESSED_DATA: bytes('0001 0002') }], [gzip1]),
      /^file-truncated: .*damaged compressed tile/],
    ['a method nobody named', tiledFile(16, [2, 1], [tile], []), /^not-an-image: .*compressed by a method it does not name/],
    ['Rice pixels of three bytes', tiledFile(16, [2, 1], [tile], [card('ZCMPTYPE', "'RICE_1'"), card('ZNAME1', "'BYTEPIX'"),
      card('ZVAL1', 3)]), /^not-an-image: .*3-byte pixels/],
    ['ZBITPIX 17', tiledFile(17, [2, 1], [tile], [gzip1]), /^not-an-image: .*ZBITPIX 17/],
    ['a tile of no size', tiledFile(16, [2, 1], [tile], [gzip1, card('ZTILE1', 0)]), /^not-an-image: .*ZTILE1 is 0/],
    ['a mask of blank pixels', tiledFile(16, [2, 1], [{ ...tile, NULL_PIXEL_MASK: bytes('00') }], [gzip1]),
      /^not-an-image: .*blank pixels in a mask/],
    ['more pixels than so few bytes can hold', tiledFile(16, [12_000, 12_000], [tile],
      [gzip1, card('ZTILE1', 12_000), card('ZTILE2', 12_000)]),
      /^file-truncated: a.fits.fz claims 144.0 megapixels in \d+ bytes, which can't be/],
    ['more pixels than a camera has', tiledFile(16, [60_000, 60_000], [tile], [gzip1]), /^too-large: a.fits.fz has 3600 megapixels/],
  ])('with %s are refused in words', async (_, file, message) => {
    expect(await failure(file)).toMatch(message);
  });
  it('whose table points beyond its end are refused', async () => {
    const file = tiledFile(16, [2, 1], [tile], [gzip1]);
    const cell = file.indexOf(tile.COMPRESSED_DATA) - 8;
    file.writeInt32BE(5_000_000, cell + 4);
    expect(await failure(file)).toMatch(/^file-truncated: .*row 1 points beyond its end/);
  });
  it('cut anywhere or with any bytes changed either read or raise a PolewardError', async () => {
    const files = ['uint16-rice_1', 'float32-rice_1-dither-2', 'float64-gzip_2-exact', 'uint16-squares', 'float32-fallback']
      .map((name) => readFileSync(`${folder}${name}.fits.fz`));
    const change = fc.record({ at: fc.nat(), byte: fc.nat(255), head: fc.boolean() });
    await fc.assert(fc.asyncProperty(fc.constantFrom(...files), fc.nat(), fc.array(change, { maxLength: 5 }),
      async (whole, cut, changes) => {
      const file = Buffer.from(cut % 4 === 0 ? whole.subarray(0, cut % whole.length) : whole);
      // Half of the changes where the compressed picture's header and table are.
      for (const { at, byte, head } of changes) if (file.length > 0) file[(head ? 2880 + (at % 5000) : at) % file.length] = byte;
      try {
        const { image } = await decodeFits(file, 'a', nodeDecoders.gunzip);
        expect(image.data.length).toBe(image.width * image.height);
      } catch (error) {
        expect(error).toBeInstanceOf(PolewardError);
      }
    }), { numRuns: 500 });
  });
});

describe('Rice compression', () => {
  it('repeats the first pixel where nothing changes', () => {
    // 0007, then a code of 4 bits (0: no change) for each block of 32.
    expect([...decodeRice(bytes('0007 00'), 40, 2, 32)]).toEqual(Array(40).fill(7));
  });
  it('takes steps sent in unary: 0, -1, 1, -2, 2', () => {
    // Code 1 (no low bits), then 0 = 1, 1 = 01, 2 = 001, 3 = 0001, 4 = 00001.
    const bits = '0001' + '1' + '01' + '001' + '0001' + '00001' + '00000';
    const packed = bits.match(/.{8}/g)!.map((byte) => parseInt(byte, 2));
    expect([...decodeRice(Uint8Array.of(0, 100, ...packed), 5, 2, 32)]).toEqual([100, 99, 100, 98, 100]);
  });
  it('wraps at the ends of its pixels', () => {
    // Code 15: steps of 16 bits as they are. 65535 stands for -32768.
    const packed = '1111' + '1'.repeat(16) + '0000';
    expect([...decodeRice(Uint8Array.of(0x80, 0, ...packed.match(/.{8}/g)!.map((byte) => parseInt(byte, 2))), 1, 2, 32)]).toEqual([0]);
  });
  it('data that end too early are an error, and nothing is read beyond them', () => {
    expect(() => decodeRice(Uint8Array.of(0, 1, 0x10), 2000, 2, 32)).toThrow(RangeError);
    expect(() => decodeRice(new Uint8Array(0), 2000, 4, 32)).toThrow(RangeError);
  });
});

describe('dither', () => {
  it('uses the random numbers of appendix I, which end with the seed 1043618065', () => {
    // Each value is 0.5 - random; the table's first number is 16807 / (2^31 - 1).
    const start = Math.floor((16807 / 2147483647) * 500);
    const out = dequantise(new Int32Array(10_000 - start), { scale: 1, zero: 0, blank: null, dither: 'SUBTRACTIVE_DITHER_1', tileSeed: 0 },
      new Float64Array(10_000 - start));
    expect(0.5 - (out.at(-1) as number)).toBeCloseTo(1043618065 / 2147483647, 7);
    expect(0.5 - (out[0] as number)).toBeCloseTo(16807 / 2147483647, 7);
  });
  it('of the second kind keeps what was exactly 0', () => {
    const stored = Int32Array.of(-2147483646, 5);
    const how = { scale: 2, zero: 1, blank: null, tileSeed: 7 };
    expect(dequantise(stored, { ...how, dither: 'SUBTRACTIVE_DITHER_2' }, new Float64Array(2))[0]).toBe(0);
    expect(dequantise(stored, { ...how, dither: 'SUBTRACTIVE_DITHER_1' }, new Float64Array(2))[0]).not.toBe(0);
  });
});
