import { indexOfBytes, latin1, viewOf } from './bytes.js';
import type { RasterKind } from './fileKind.js';
import type { PixelArray } from './frame.js';

/** Shorter runs are ignored. */
const LEAST_SAMPLES = 64;
/** Unwritten data must be longer by this factor than the longest run of the same value elsewhere in the picture. */
const LONGER_THAN_ELSEWHERE = 4;
/** A row with a longer run of the value at one end belongs to a dark or bright border of the picture. */
const BORDER_SAMPLES = 8;

/**
 * Number of rows at the end of a picture, partial ones included, that seem not to be written yet: some copying programs make a file in its
 * full size and fill it from the start, so that the rest has one value. 0 where nothing points to that, as in a picture with a dark or
 * clipped border, which begins with a whole row or is slanted.
 * @param data samples in the order of the file, as stored or scaled
 * @param rowSamples samples a row
 * @param ceiling the largest value of the format
 * @param unwritten the values of bytes of zeros and of 0xff (NaN is blank); null where pixels are packed, so that any value is possible
 */
export function unfinishedRows(
  data: PixelArray, rowSamples: number, ceiling: number | null, unwritten: readonly number[] | null,
): number {
  const fill = data[data.length - 1];
  if (fill === undefined) return 0;
  // Compared with values as exact as the array keeps them.
  if (unwritten && !unwritten.some((value) => Object.is(data instanceof Float32Array ? Math.fround(value) : value, fill))) return 0;
  const isFill = (at: number): boolean => data[at] === fill || (Number.isNaN(fill) && Number.isNaN(data[at]));
  let start = data.length;
  while (start > 0 && isFill(start - 1)) start--;
  const length = data.length - start;
  if (length < LEAST_SAMPLES) return 0;
  const rows = Math.ceil(length / rowSamples);
  const rowStart = start - (start % rowSamples);
  if (start === rowStart) {
    // A border begins with a row, too; but its pixels are black, blank or white, and it is less than a third of the picture.
    const mayBeEdge = fill === 0 || fill === ceiling || Number.isNaN(fill);
    return mayBeEdge && (start === 0 || length < data.length / 3) ? 0 : rows;
  }
  const borders = (from: number, to: number): boolean => {
    let [first, last] = [from, to - 1];
    while (first < to && isFill(first)) first++;
    while (last >= from && isFill(last)) last--;
    return first - from >= BORDER_SAMPLES || to - 1 - last >= BORDER_SAMPLES;
  };
  if (borders(rowStart, start) || (rowStart > 0 && borders(rowStart - rowSamples, rowStart))) return 0;
  let [longest, run] = [0, 0];
  for (let at = 0; at < start; at++) {
    run = isFill(at) ? run + 1 : 0;
    if (run > longest) longest = run;
  }
  return length >= LONGER_THAN_ELSEWHERE * longest ? rows : 0;
}

/** All rows where the file seems to be written no further than its header: then all pixels have one value. Else 0. */
export function unfinishedBehindHeader(data: PixelArray, rowSamples: number): number {
  const fill = data[0];
  return data.every((value) => Object.is(value, fill)) ? Math.ceil(data.length / rowSamples) : 0;
}

/** Shorter runs of one byte also occur at the end of packed pictures; a JPEG's end mark shows that it is complete. */
const LEAST_BYTES = { jpeg: 8, webp: 64, avif: 64, heic: 64, png: Infinity, tiff: Infinity } as const;

/**
 * The share (0 to 1) of a packed picture's bytes that seem not to be written yet: zeros or 0xff from some byte to the end, where packed
 * pixels should be. 0 where nothing points to that. PNG and TIFF need no such check: their decoder sees that something is missing.
 */
export function unfinishedShare(bytes: Uint8Array, kind: RasterKind): number {
  const fill = bytes[bytes.length - 1];
  if (fill !== 0 && fill !== 0xff) return 0;
  let start = bytes.length;
  while (start > 0 && bytes[start - 1] === fill) start--;
  if (LEAST_BYTES[kind] === Infinity) return 0;
  const end = endOfPicture(bytes, kind);
  return end - start < LEAST_BYTES[kind] ? 0 : (end - start) / bytes.length;
}

/** Where the packed picture ends; what follows does not matter. */
function endOfPicture(bytes: Uint8Array, kind: RasterKind): number {
  // The last marker ends a JPEG: where it is missing, so is the rest.
  if (kind === 'jpeg') return lastEndMarker(bytes) ?? bytes.length;
  // RFC 9649, section 2.4.
  if (kind === 'webp') return Math.min(bytes.length, 8 + viewOf(bytes).getUint32(4, true));
  return endOfMediaData(bytes);
}

function lastEndMarker(bytes: Uint8Array): number | null {
  for (let at = bytes.lastIndexOf(0xd9); at > 0; at = bytes.lastIndexOf(0xd9, at - 1)) if (bytes[at - 1] === 0xff) return at + 1;
  return null;
}

/** ISO/IEC 14496-12, section 4.2: a box's length stands before its name; 0 stands for "to the end of the file". */
function endOfMediaData(bytes: Uint8Array): number {
  const name = indexOfBytes(bytes, 'mdat');
  if (name < 4 || latin1(bytes, 4, 8) !== 'ftyp') return 0;
  const length = viewOf(bytes).getUint32(name - 4);
  return length === 0 ? bytes.length : Math.min(bytes.length, name - 4 + length);
}
