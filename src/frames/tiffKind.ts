import { type TiffEntries, tiffStructure } from './tiffDirectory.js';

const BITS = 258;
const COMPRESSION = 259;
const STRIPS = 273;
const TILE_SIDES = [322, 323];
const TILES = 324;
const SAMPLE_FORMAT = 339;
const JPEG_IN_TIFF = 7;

/** TIFF 6.0, sections 7 to 11, 13 and 22, and Adobe's technical notes: what decoders commonly read. */
const READ_COMPRESSIONS = [1, 2, 3, 4, 5, JPEG_IN_TIFF, 8, 32773, 32946];
/** Names by their numbers (libtiff's `tiff.h` lists them). */
const OTHER_COMPRESSIONS: Readonly<Record<number, string>> = {
  6: 'the old kind of JPEG', 9: 'JBIG', 10: 'JBIG', 32766: '2-bit runs', 32809: '4-bit runs', 32909: 'logarithms', 34661: 'JBIG',
  34676: 'logarithms',
  34677: 'logarithms', 34712: 'JPEG 2000', 34887: 'LERC', 34925: 'LZMA', 50000: 'Zstandard', 50001: 'WebP', 50002: 'JPEG XL',
  52546: 'JPEG XL',
};
/** Sample formats by their numbers, and the bits that decoders commonly read of each. */
const FORMATS: Readonly<Record<number, { readonly name: string; readonly bits: readonly number[] }>> = {
  1: { name: 'whole numbers', bits: [1, 2, 4, 8, 16, 32] }, 2: { name: 'whole numbers with a sign', bits: [16, 32] },
  3: { name: 'floating-point numbers', bits: [16, 32] }, 4: { name: 'numbers', bits: [8, 16, 32] },
  5: { name: 'complex whole numbers', bits: [] }, 6: { name: 'complex numbers', bits: [] },
};

/**
 * What of the first picture of a TIFF file is not supported, in words that continue after "it"; null where it seems supported. Source: TIFF
 * 6.0 (1992).
 */
export function unreadTiff(bytes: Uint8Array): string | null {
  const entries = firstDirectory(bytes);
  if (!entries) return null;
  const compression = numbersOf(entries, COMPRESSION)[0] ?? 1;
  if (!READ_COMPRESSIONS.includes(compression)) {
    return `is compressed by ${OTHER_COMPRESSIONS[compression] ?? 'a method of its own'} (number ${compression})`;
  }
  const bits = numbersOf(entries, BITS);
  if (bits.some((other) => other !== bits[0])) return `has samples of different sizes (${bits.join(', ')} bits)`;
  const format = FORMATS[numbersOf(entries, SAMPLE_FORMAT)[0] ?? 1];
  if (!format) return `has samples of an unknown format (number ${numbersOf(entries, SAMPLE_FORMAT)[0]})`;
  if (bits[0] !== undefined && !format.bits.includes(bits[0])) return `has samples of ${bits[0]} bits (${format.name})`;
  const sides = TILE_SIDES.map((tag) => numbersOf(entries, tag)[0]);
  if (entries.has(TILES) && sides.some((side) => side === undefined || side % 16 !== 0)) {
    return `is divided into tiles of ${sides.map((side) => side ?? 0).join(' × ')} pixels, which are not multiples of 16`;
  }
  return null;
}

/** Strips or tiles of the first picture where each is a JPEG picture; null where they are not. */
export function jpegPieces(bytes: Uint8Array): number | null {
  const entries = firstDirectory(bytes);
  if (!entries || numbersOf(entries, COMPRESSION)[0] !== JPEG_IN_TIFF) return null;
  return Math.max(1, entries.get(STRIPS)?.count ?? 0, entries.get(TILES)?.count ?? 0);
}

function firstDirectory(bytes: Uint8Array): TiffEntries | null {
  const structure = tiffStructure(bytes);
  return structure?.directory(structure.first)?.entries ?? null;
}

/** More samples than any picture has. */
const MOST_VALUES = 16;

function numbersOf(entries: TiffEntries, tag: number): number[] {
  const entry = entries.get(tag);
  return Array.from({ length: Math.min(entry?.count ?? 0, MOST_VALUES) }, (_, i) => entry?.number(i) ?? NaN).filter(Number.isFinite);
}
