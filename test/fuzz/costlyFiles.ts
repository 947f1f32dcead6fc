/** Small files made to cost much: minutes or gigabytes, if a reader believed them. */
import { deflateRawSync, deflateSync, gzipSync } from 'node:zlib';
import sharp, { type Sharp } from 'sharp';
import { dngBytes } from '../frames/dngBytes.js';
import { card, dataBytes, headerBytes, imageCards } from '../frames/fitsBytes.js';
import { jpegInPasses } from '../frames/jpegPasses.js';
import { losslessJpeg } from '../frames/losslessJpeg.js';
import { type Tag, TiffWriter } from '../frames/tiffBytes.js';
import { crc32 } from './hostilePictures.js';

/** A file, and how it must end: read, or refused with this code. */
export interface CostlyFile {
  readonly name: string;
  readonly ending: 'read' | 'too-large' | 'file-truncated' | 'not-an-image';
  make(): Buffer | Promise<Buffer>;
}

export const COSTLY_FILES: readonly CostlyFile[] = [
  { name: 'JPEG whose EXIF has 5,400 entries that claim all its numbers each', ending: 'read', make: async () =>
    afterStart(await small().jpeg().toBuffer(), 0xe1, entriesOfAll(5400, 65_000, 1)) },
  { name: 'JPEG whose EXIF has 5,400 entries that claim all its letters each', ending: 'read', make: async () =>
    afterStart(await small().jpeg().toBuffer(), 0xe1, entriesOfAll(5400, 65_000, 2)) },
  { name: 'TIFF whose EXIF has 60,000 entries that claim the whole file each', ending: 'read', make: tiffOfEntries },
  { name: 'PNG with twenty texts and a colour profile of 40 megabytes each', ending: 'read', make: pngOfWords },
  { name: 'PNG of 60 even megapixels in 16-bit colour', ending: 'too-large', make: () => even(10_000, 6000).toColourspace('rgb16').png()
    .toBuffer() },
  { name: 'JPEG of 100 even megapixels', ending: 'too-large', make: () => even(10_000, 10_000).jpeg({ optimiseCoding: true }).toBuffer() },
  { name: 'TIFF of 60 even megapixels in LZW', ending: 'too-large', make: () => even(10_000, 6000).tiff({ compression: 'lzw' })
    .toBuffer() },
  { name: 'WebP of 50 even megapixels', ending: 'too-large', make: () => even(10_000, 5000).webp({ effort: 0 }).toBuffer() },
  { name: 'AVIF of 40 megapixels that claims 300', ending: 'file-truncated', make: async () =>
    claimingLess(await even(8000, 5000).avif({ effort: 0 }).toBuffer(), 'ispe') },
  { name: 'WebP of 40 megapixels that claims 300', ending: 'file-truncated', make: async () =>
    claimingLess(await even(8000, 5000).withExif({ IFD0: { Artist: 'x' } }).webp({ lossless: true, effort: 0 }).toBuffer(), 'VP8X') },
  { name: 'JPEG of 9 megapixels in a thousand passes', ending: 'too-large', make: () => passes(3000, 3000, 1000) },
  { name: 'JPEG of 9 megapixels in 2,500 valid passes', ending: 'too-large', make: () => jpegInPasses(3000, 3000, 2500) },
  { name: 'PNG one pixel wide and two million high', ending: 'too-large', make: () => line(1, 2e6).png().toBuffer() },
  { name: 'PNG one pixel high and nine million wide', ending: 'too-large', make: () => line(9e6, 1).png().toBuffer() },
  { name: 'TIFF one pixel wide and two million high', ending: 'too-large', make: () => line(1, 2e6).tiff({ compression: 'lzw' })
    .toBuffer() },
  { name: 'SVG that begins like AVIF and blurs a large drawing', ending: 'file-truncated', make: () => Buffer.from(SVG) },
  { name: 'gzip of FITS with 50,000 keywords in each of four headers', ending: 'too-large', make: () =>
    manyHeaders((i) => card(`K${i}`, i)) },
  { name: 'gzip of FITS with a string in 50,000 pieces in each of four headers', ending: 'too-large', make: () => manyHeaders(piece) },
  { name: 'gzip of FITS with 30,000 units without data', ending: 'too-large', make: () => manyUnits(30_000, []) },
  { name: 'FITS with a string in 50,000 pieces', ending: 'read', make: () =>
    onePicture(Array.from({ length: 50_000 }, (_, i) => piece(i))) },
  { name: 'FITS with 300,000 keywords', ending: 'not-an-image', make: () =>
    onePicture(Array.from({ length: 300_000 }, (_, i) => card(`K${i}`, i))) },
  { name: 'gzip of 390 even megabytes in three planes', ending: 'too-large', make: () =>
    gzipSync(Buffer.concat([headerBytes(imageCards(8, 13_000, 10_000, 3)), Buffer.alloc(390e6)]), { level: 9 }) },
  { name: 'compressed FITS of 500,000 tiles of one pixel', ending: 'not-an-image', make: () =>
    sharedTiles([1000, 500], [1, 1], gzipSync(Buffer.alloc(1))) },
  { name: 'compressed FITS of 10,000 tiles that share 600 kilobytes of nothing', ending: 'not-an-image', make: () =>
    sharedTiles([100, 10_000], [100, 1], gzipOfNothing(120_000, 100)) },
  { name: 'raw of 16 even megapixels whose mosaic must be interpolated', ending: 'too-large', make: evenRaw },
  { name: 'raw of 60 directories with 250,000 strips each', ending: 'not-an-image', make: rawOfStrips },
];

const even = (width: number, height: number): Sharp => sharp({ create: { width, height, channels: 3, background: 'black' },
  limitInputPixels: false });
const line = (width: number, height: number): Sharp => sharp(new Uint8Array(width * height).fill(20),
  { raw: { width, height, channels: 1 }, limitInputPixels: false });
const SVG = '<!--ftypavif--><svg xmlns="http://www.w3.org/2000/svg" width="9000" height="9000"><filter id="b"><feGaussianBlur '
  + 'stdDeviation="900"/></filter><rect width="9000" height="9000" filter="url(#b)"/></svg>';
const piece = (i: number): string => `${i === 0 ? 'OBJECT  = ' : 'CONTINUE  '}'${'9'.repeat(66)}&'`;
const small = (): Sharp => even(20, 15);
const onePicture = (cards: readonly string[]): Buffer => Buffer.concat([headerBytes([...imageCards(8, 10, 10), ...cards]),
  dataBytes(Buffer.alloc(100))]);

/** A small picture, and behind it extensions that have nothing but their headers. */
function manyUnits(count: number, cards: readonly string[]): Buffer {
  const unit = headerBytes([card('XTENSION', "'IMAGE   '"), card('BITPIX', 8), card('NAXIS', 0), card('PCOUNT', 0), card('GCOUNT', 1),
    ...cards]);
  return gzipSync(Buffer.concat([onePicture([]), ...Array<Buffer>(count).fill(unit)]));
}
const manyHeaders = (cardOf: (i: number) => string): Buffer => manyUnits(4, Array.from({ length: 50_000 }, (_, i) => cardOf(i)));

/** The same with the sides 20 and 15 where its container gives them: ISO/IEC 23008-12, 6.5.3; RFC 9649, 2.7. */
function claimingLess(bytes: Buffer, box: 'ispe' | 'VP8X'): Buffer {
  const at = bytes.indexOf(box);
  if (box === 'ispe') bytes.writeUInt32BE(15, bytes.writeUInt32BE(20, at + 8));
  else bytes.writeUIntLE(14, bytes.writeUIntLE(19, at + 12, 3), 3);
  return bytes;
}

/** A JPEG with one segment more. */
function afterStart(jpeg: Buffer, marker: number, data: Buffer): Buffer {
  const head = Buffer.of(0xff, marker, 0, 0);
  head.writeUInt16BE(data.length + 2, 2);
  return Buffer.concat([jpeg.subarray(0, 2), head, data, jpeg.subarray(2)]);
}

/** EXIF of `total` bytes whose photo directory has entries of one type that all claim the bytes from the eighth to the last. */
function entriesOfAll(entries: number, total: number, type: 1 | 2): Buffer {
  const bytes = Buffer.alloc(total);
  bytes.write('II*\0\x08\0\0\0\x01\0', 0, 'latin1');
  [[0x8769, 4, 1, 100] as const, ...Array.from({ length: entries }, (_, i) =>
    [0x2000 + i, type, total - 8, 8] as const)].forEach(([tag, kind, count, value], i) => {
    const at = i === 0 ? 10 : 102 + 12 * (i - 1);
    bytes.writeUInt16LE(tag, at);
    bytes.writeUInt16LE(kind, at + 2);
    bytes.writeUInt32LE(count, at + 4);
    bytes.writeUInt32LE(value, at + 8);
  });
  bytes.writeUInt16LE(entries, 100);
  return Buffer.concat([Buffer.from('Exif\0\0'), bytes]);
}

function tiffOfEntries(): Buffer {
  const write = new TiffWriter(false);
  const strip = write.add(Buffer.alloc(300));
  const entries = 60_000;
  const table = Buffer.alloc(2 + 12 * entries + 4);
  table.writeUInt16LE(entries, 0);
  for (let i = 0, at = 2; i < entries; i++, at += 12) {
    table.writeUInt16LE(i, at);
    table.writeUInt16LE(1, at + 2);
    table.writeUInt32LE(700_000, at + 4);
    table.writeUInt32LE(8, at + 8);
  }
  return write.file([
    [256, 4, [20]], [257, 4, [15]], [258, 3, [8]], [259, 3, [1]], [262, 3, [1]], [273, 4, [strip]], [277, 3, [1]], [278, 4, [15]],
      [279, 4, [300]],
    [34665, 4, [write.add(table)]],
  ]);
}

async function pngOfWords(): Promise<Buffer> {
  const png = await small().png().toBuffer();
  const packed = deflateSync(Buffer.alloc(4e7, 'a'));
  const piece = (name: string, data: Buffer): Buffer => {
    const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
    const out = Buffer.alloc(body.length + 8);
    out.writeUInt32BE(data.length, 0);
    body.copy(out, 4);
    out.writeUInt32BE(crc32(body), body.length + 4);
    return out;
  };
  const words = Array.from({ length: 20 }, (_, i) => piece('zTXt', Buffer.concat([Buffer.from(`k${i}\0\0`), packed])));
  return Buffer.concat([png.subarray(0, 33), piece('iCCP', Buffer.concat([Buffer.from('p\0\0'), packed])), ...words, png.subarray(33)]);
}

/** A progressive JPEG whose last pass comes again and again. */
async function passes(width: number, height: number, count: number): Promise<Buffer> {
  const jpeg = await even(width, height).toColourspace('b-w').jpeg({ progressive: true }).toBuffer();
  const pass = jpeg.subarray(jpeg.lastIndexOf(Buffer.of(0xff, 0xc4)), -2);
  return Buffer.concat([jpeg.subarray(0, -2), ...Array<Buffer>(count).fill(pass), jpeg.subarray(-2)]);
}

/** A compressed table all of whose rows point at the same cell. */
function sharedTiles(axes: readonly [number, number], tile: readonly [number, number], cell: Buffer): Buffer {
  const rows = (axes[0] / tile[0]) * (axes[1] / tile[1]);
  const descriptor = Buffer.alloc(8);
  descriptor.writeInt32BE(cell.length, 0);
  const cards = [
    card('XTENSION', "'BINTABLE'"), card('BITPIX', 8), card('NAXIS', 2), card('NAXIS1', 8), card('NAXIS2', rows),
      card('PCOUNT', cell.length), card('GCOUNT', 1),
    card('TFIELDS', 1), card('TTYPE1', "'COMPRESSED_DATA'"), card('TFORM1', "'1PB(99)'"), card('ZIMAGE', true), card('ZBITPIX', 8),
      card('ZNAXIS', 2),
    card('ZNAXIS1', axes[0]), card('ZNAXIS2', axes[1]), card('ZTILE1', tile[0]), card('ZTILE2', tile[1]), card('ZCMPTYPE', "'GZIP_1'"),
  ];
  const table = Buffer.alloc(8 * rows, descriptor);
  return Buffer.concat([headerBytes([card('SIMPLE', true), card('BITPIX', 8), card('NAXIS', 0)]), headerBytes(cards),
    dataBytes(Buffer.concat([table, cell]))]);
}

/** gzip of zeros after many empty stored blocks of deflate (RFC 1951, section 3.2.4). */
function gzipOfNothing(blocks: number, length: number): Buffer {
  const whole = gzipSync(Buffer.alloc(length));
  return Buffer.concat([whole.subarray(0, 10), Buffer.alloc(5 * blocks, Buffer.of(0, 0, 0, 0xff, 0xff)),
    deflateRawSync(Buffer.alloc(length)), whole.subarray(-8)]);
}

/** The lossless JPEG of a small picture, whose every sample is the one before it, with a larger picture's sizes and enough zeros. */
function evenRaw(): Buffer {
  const [width, height] = [4000, 4000];
  const packed = losslessJpeg(width, 2, new Uint16Array(width * 2).fill(32768));
  packed.writeUInt16BE(height, packed.indexOf(Buffer.of(0xff, 0xc3)) + 5);
  const body = Buffer.concat([packed.subarray(0, -2), Buffer.alloc(1_500_000), packed.subarray(-2)]);
  return dngBytes({ width, height, data: new Uint16Array(0), compression: 7, packed: body, cell: 6,
    pattern: Array.from({ length: 36 }, (_, i) => i % 3) });
}

function rawOfStrips(): Buffer {
  const write = new TiffWriter(false);
  const places = write.add(Buffer.alloc(1_000_000));
  const directories = Array.from({ length: 60 }, () => {
    const table = Buffer.alloc(2 + 24 + 4);
    table.writeUInt16LE(2, 0);
    [273, 324].forEach((tag, i) => {
      table.writeUInt16LE(tag, 2 + 12 * i);
      table.writeUInt16LE(4, 4 + 12 * i);
      table.writeUInt32LE(250_000, 6 + 12 * i);
      table.writeUInt32LE(places, 10 + 12 * i);
    });
    return write.add(table);
  });
  const tags: Tag[] = [[50706, 1, [1, 4, 0, 0]], [330, 4, directories]];
  return write.file(tags);
}
