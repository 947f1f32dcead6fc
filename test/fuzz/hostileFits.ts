import { gzipSync } from 'node:zlib';
import type { Random } from '../../src/simulate/random.js';
import { card, dataBytes, headerBytes } from '../frames/fitsBytes.js';
import { tiledFile } from '../frames/tiledBytes.js';
import { below, chance, mutate, noise, oneOf } from './mutate.js';

const CARD = 80;
const KEYWORDS = [
  'SIMPLE', 'XTENSION', 'BITPIX', 'NAXIS', 'NAXIS1', 'NAXIS2', 'NAXIS3', 'NAXIS4', 'PCOUNT', 'GCOUNT', 'GROUPS', 'BSCALE', 'BZERO',
    'BLANK', 'END',
  'CONTINUE', 'BAYERPAT', 'ROWORDER', 'DATE-OBS', 'DATE-AVG', 'DATE-BEG', 'DATE-END', 'TIME-OBS', 'TIMESYS', 'MJD-OBS', 'JD', 'EXPTIME',
    'EXPOSURE',
  'XPIXSZ', 'PIXSIZE1', 'XBINNING', 'BINNING', 'FOCALLEN', 'SITELAT', 'SITELONG', 'SITEELEV', 'OBSGEO-B', 'OBJCTRA', 'OBJCTDEC', 'RA',
    'DEC', 'CTYPE1',
  'CTYPE2', 'CRVAL1', 'CRVAL2', 'CRPIX1', 'CRPIX2', 'CD1_1', 'CD1_2', 'CD2_1', 'CD2_2', 'CDELT1', 'CDELT2', 'CROTA2', 'EXTNAME',
];
const TILE_KEYWORDS = [
  'ZIMAGE', 'ZBITPIX', 'ZNAXIS', 'ZNAXIS1', 'ZNAXIS2', 'ZNAXIS3', 'ZTILE1', 'ZTILE2', 'ZTILE3', 'ZCMPTYPE', 'ZNAME1', 'ZVAL1', 'ZNAME2',
    'ZVAL2', 'ZQUANTIZ',
  'ZDITHER0', 'ZSCALE', 'ZZERO', 'ZBLANK', 'TFIELDS', 'TFORM1', 'TFORM2', 'TFORM3', 'TTYPE1', 'TTYPE2', 'TTYPE3', 'THEAP', 'NAXIS1',
    'NAXIS2', 'PCOUNT',
];
const VALUES = [
  '0', '-1', '1', '2', '3', '8', '16', '-32', '-64', '64', '999', '1000', '60000', '65536', '2147483647', '2147483648', '-2147483648',
    '4294967296',
  '9007199254740993', '9223372036854775807', '99999999999999999999999', '1E308', '-1E400', '1.5', '1E-320', '1D5', 'NaN', 'INF', '-INF',
    '.', '+', '-', '', 'T', 'F',
  '(1, 2)', '(NaN, 1)', '\'', '\'\'', '\'unfinished', '\'ends with &\'', '\'NaN\'', '\'0000-00-00T00:00:00\'', '\'0000-01-01T00:00:00\'',
    '\'2026-02-31T12:00:00\'',
  '\'2026-11-25T25:61:61\'', '\'9999-12-31T23:59:59\'', '\'-2026-11-25T20:00:00\'', '\'2026-11-25T20:00:00+99:99\'', '\'2026-11-25\'',
    '2026-11-25T20:00:00',
  '\'31/12/99\'', '\'RGGB\'', '\'XYZW\'', '\'BINTABLE\'', '\'IMAGE   \'', '\'RICE_1\'', '\'GZIP_1\'', '\'GZIP_2\'', '\'PLIO_1\'',
    '\'HCOMPRESS_1\'', '\'NOCOMPRESS\'',
  '\'SUBTRACTIVE_DITHER_1\'', '\'SUBTRACTIVE_DITHER_2\'', '\'NONE\'', '\'BYTEPIX\'', '\'BLOCKSIZE\'', '\'1PB(99)\'', '\'1QB(99)\'',
    '\'0PB\'', '\'999999999D\'', '\'1D\'', '\'1J\'',
  '\'1X\'', '\'COMPRESSED_DATA\'', '\'GZIP_COMPRESSED_DATA\'', '\'UNCOMPRESSED_DATA\'', '\'ZSCALE\'', '\'91 00 00\'', '\'-90 60 60\'',
    '\'39 12 00 S S\'', '\'+46:30:00\'',
  '\'RA---TAN\'', '\'DEC--TAN\'', '\'LOCAL\'', '\'TT(TAI)\'', '\'\x1b[2J\x07\'', '\'\xff\xfe\x80\'', `'${'9'.repeat(66)}'`, '1'.repeat(70),
    '-0', '1E', '0x10', '180.00001', '-360',
];

/** A FITS file that is wrong somewhere, or everywhere. */
export function hostileFits(random: Random, seeds: readonly Buffer[]): Buffer {
  const seed = oneOf(random, seeds);
  const way = random.uniform();
  if (way < 0.35) return mutate(random, seed, oneOf(random, seeds));
  if (way < 0.7) return editCards(random, seed, KEYWORDS);
  if (way < 0.75) return mutate(random, editCards(random, seed, KEYWORDS), oneOf(random, seeds));
  return invented(random);
}

/** Likewise tile-compressed. */
export function hostileTiles(random: Random, seeds: readonly Buffer[]): Buffer {
  const seed = oneOf(random, seeds);
  const way = random.uniform();
  if (way < 0.3) return mutate(random, seed, oneOf(random, seeds));
  if (way < 0.65) return editCards(random, seed, TILE_KEYWORDS);
  if (way < 0.7) return mutate(random, editCards(random, seed, TILE_KEYWORDS), oneOf(random, seeds));
  return inventedTiles(random);
}

/** Likewise in a gzip file, damaged outside, inside, or a bomb. */
export function hostileGzip(random: Random, seeds: readonly Buffer[]): Buffer {
  const way = random.uniform();
  const level = oneOf(random, [0, 1, 9]);
  if (way < 0.5) return gzipSync(hostileFits(random, seeds), { level });
  if (way < 0.85) return mutate(random, gzipSync(oneOf(random, seeds), { level }), gzipSync(oneOf(random, seeds)));
  if (way < 0.9) return Buffer.concat([gzipSync(oneOf(random, seeds)), gzipSync(noise(random, 100))]);
  if (way < 0.95) return gzipSync(gzipSync(oneOf(random, seeds)));
  return bomb(random);
}

/** Few bytes that unpack to many: no header's end, more data than claimed, less, or as much as claimed. */
function bomb(random: Random): Buffer {
  const side = oneOf(random, [1000, 2000, 4000, 60_000, 3_000_000]);
  const header = chance(random, 0.2) ? Buffer.from('SIMPLE  =                    T'.padEnd(80))
    : headerBytes([card('SIMPLE', true), card('BITPIX', oneOf(random, [8, 16, -64])), card('NAXIS', 2), card('NAXIS1', side),
    card('NAXIS2', side)]);
  return gzipSync(Buffer.concat([header, Buffer.alloc(oneOf(random, [0, 1e6, 8e6]), chance(random, 0.5) ? 0x20 : 0)]), { level: 1 });
}

/** Cards overwritten, added, left out or doubled. */
function editCards(random: Random, bytes: Buffer, keywords: readonly string[]): Buffer {
  let out = Buffer.from(bytes);
  for (let n = 1 + below(random, 5); n > 0; n--) {
    const cards: number[] = [];
    for (let at = 0; at + CARD <= out.length
      && cards.length < 400; at += CARD) if (/^[A-Z][A-Z0-9_-]{0,7} *(= |$)/.test(out.toString('latin1', at, at + 10))) cards.push(at);
    if (cards.length === 0) return out;
    const at = oneOf(random, cards);
    const keyword = chance(random, 0.5) ? out.toString('latin1', at, at + 8).trim() : oneOf(random, keywords);
    const way = random.uniform();
    if (way < 0.75) out.write(hostileCard(random, keyword), at, 'latin1');
    else if (way < 0.8) out.fill(0x20, at, at + CARD);
    else if (way < 0.85) out.copy(out, at, oneOf(random, cards), oneOf(random, cards) + CARD);
    else out = Buffer.concat([out.subarray(0, at), Buffer.from(hostileCard(random, keyword), 'latin1'), out.subarray(at)]);
  }
  return out;
}

function hostileCard(random: Random, keyword: string): string {
  const value = chance(random, 0.85) ? oneOf(random, VALUES) : String((random.uniform() - 0.5) * 10 ** below(random, 40));
  const indicator = chance(random, 0.97) ? '= ' : '  ';
  const field = chance(random, 0.5) ? value.padStart(20) : value;
  return `${keyword.padEnd(8)}${indicator}${field} / ${keyword}`.slice(0, CARD).padEnd(CARD);
}

/** A file from nothing: sizes and data that may or may not agree. */
function invented(random: Random): Buffer {
  const bitpix = oneOf(random, [8, 16, 32, 64, -32, -64, 0, -16, 7]);
  const axes = Array.from({ length: chance(random, 0.9) ? 2 + below(random, 2) : below(random, 12) }, () =>
    oneOf(random, [0, 1, 2, 3, 7, 30, 65_537, 2 ** 31, 9e15]));
  const small = axes.map((n) => (n > 100 && chance(random, 0.9) ? 5 : n));
  const size = small.reduce((a, b) => a * b, Math.abs(bitpix) / 8);
  const length = chance(random, 0.8) && size < 1e5 ? Math.floor(size) : below(random, 4000);
  const cards = [card('SIMPLE', true), card('BITPIX', bitpix), card('NAXIS', small.length),
    ...small.map((n, i) => card(`NAXIS${i + 1}`, n))];
  for (let n = below(random, 12); n > 0; n--) cards.push(hostileCard(random, oneOf(random, KEYWORDS)));
  const data = oneOf(random, [noise(random, length), Buffer.alloc(length, 0x7f), Buffer.alloc(length, 0xff), Buffer.alloc(length)]);
  const unit = Buffer.concat([headerBytes(cards), chance(random, 0.9) ? dataBytes(data) : data]);
  return chance(random, 0.1) ? Buffer.concat([unit, Buffer.from('XTENSION= \'IMAGE   \''.padEnd(80)), unit.subarray(80)]) : unit;
}

function inventedTiles(random: Random): Buffer {
  const bitpix = oneOf(random, [8, 16, 32, 64, -32, -64]);
  const axes = oneOf(random, [[8, 4], [1, 1], [0, 5], [100, 3], [5, 5, 3], [60_000, 60_000], [20_000, 9000], [2 ** 31, 2]]);
  const rows = Array.from({ length: below(random, 8) }, () => ({
    [oneOf(random, ['COMPRESSED_DATA', 'COMPRESSED_DATA', 'GZIP_COMPRESSED_DATA', 'UNCOMPRESSED_DATA', 'NULL_PIXEL_MASK'])]:
      chance(random, 0.5) ? noise(random, below(random, 200)) : gzipSync(Buffer.alloc(oneOf(random, [1, 8, 16, 32, 64, 300, 100_000]))),
    ...(chance(random, 0.3) ? { ZSCALE: oneOf(random, [0, 1, NaN, Infinity, 1e300, -1]), ZZERO: oneOf(random, [0, NaN, -1e308]) } : {}),
  }));
  const method = oneOf(random, ['RICE_1', 'RICE_ONE', 'GZIP_1', 'GZIP_2', 'NOCOMPRESS', 'WHAT', '']);
  const more = [card('ZCMPTYPE', `'${method}'`)];
  for (let n = below(random, 6); n > 0; n--) more.push(hostileCard(random, oneOf(random, TILE_KEYWORDS)));
  return tiledFile(bitpix, axes, rows, more, chance(random, 0.3));
}
