import { PolewardError } from '../error.js';

/** Largest camera sensors have about 150 megapixels. */
export const LARGEST_PIXELS = 2e8;
/** 61 megapixels in three 32-bit planes are 0.7 GiB. */
const LARGEST_BYTES = 2 ** 30;
/** Raw files are copied twice before they reach the decoder. Four exposures of 61 megapixels in one are 0.49 GiB. */
const LARGEST_RAW_BYTES = 2 ** 29;
/** 61 megapixels in 64-bit values are as much, 85 megapixels in 16-bit colour. */
export const LARGEST_UNPACKED_BYTES = 2 ** 29;
/** The most that pixels, their mean and the decoder's memory may take together: with the program itself less than 1 GiB. */
const MOST_MEMORY_BYTES = 0.875 * 2 ** 30;

/**
 * How tightly pixels can be packed. A small file must not keep the machine busy for long: a file up to half a megabyte costs two seconds at
 * most, each further megabyte four (two cores of 2026; `npm run fuzz`).
 */
export interface Packing {
  /** The most pixels for a byte. */
  readonly mostInAByte: number;
  /** Millions of pixels (or of bytes, before it is a picture) that any file may have: they are unpacked in two seconds. */
  readonly cheapMillions: number;
  /** For more than that, the most for a byte. */
  readonly mostInAByteBeyond: number;
}
/** The blackest picture in the tightest format has some hundred pixels in a byte. Stored without loss, pixels with noise have seven. */
export const PACKED_PICTURE: Packing = { mostInAByte: 4000, cheapMillions: 24, mostInAByteBeyond: 50 };
/** Noise of two steps leaves 20 pixels a byte at quality 90; at quality 60 it is nearly lost: 140, and an even grey has 160. */
export const PACKED_JPEG: Packing = { mostInAByte: 4000, cheapMillions: 40, mostInAByteBeyond: 80 };
/** These take longer to unpack. */
export const PACKED_WEBP: Packing = { mostInAByte: 4000, cheapMillions: 20, mostInAByteBeyond: 40 };
export const PACKED_AVIF: Packing = { mostInAByte: 4000, cheapMillions: 12, mostInAByteBeyond: 24 };
/** Lossless compression of the blackest raw picture takes one bit a pixel (ITU-T T.81, annex H); four times as many are allowed. */
export const PACKED_RAW: Packing = { mostInAByte: 32, cheapMillions: 8, mostInAByteBeyond: 8 };
/** Deflate can't pack more tightly (RFC 1951: 258 bytes of two bits). */
export const PACKED_BYTES: Packing = { mostInAByte: 1032, cheapMillions: 100, mostInAByteBeyond: 50 };

/** Throws `too-large` for a picture of more pixels than any camera's. Called before memory for them is taken. */
export function refuseTooManyPixels(pixels: number, file: string): void {
  if (pixels > LARGEST_PIXELS) throw tooLarge(file, `${Math.round(pixels / 1e6)} megapixels`, `${LARGEST_PIXELS / 1e6}`);
}

/** Throws `too-large` for a file larger than any single camera frame. */
export function refuseTooManyBytes(bytes: number, file: string): void {
  if (bytes > LARGEST_BYTES) throw tooLarge(file, `${(bytes / 2 ** 30).toFixed(1)} GiB`, '1 GiB');
}

/** Throws `too-large` for a camera raw of more bytes than its decoder is given. */
export function refuseTooManyRawBytes(bytes: number, file: string): void {
  if (bytes > LARGEST_RAW_BYTES) throw tooLarge(file, `${(bytes / 2 ** 30).toFixed(2)} GiB of camera raw`, '0.5 GiB');
}

/**
 * Throws for a packed file that claims more than is possible: `too-large` beyond the limit for unpacked data or for a small file,
 * `file-truncated` for more pixels than so few bytes can contain. Called before memory for them is taken.
 */
export function refuseUnpacking(
  pixels: number, bytesPerPixel: number, fileBytes: number, file: string, packing: Packing = PACKED_PICTURE,
): void {
  refuseTooManyPixels(pixels, file);
  const unpacked = pixels * bytesPerPixel;
  if (unpacked > LARGEST_UNPACKED_BYTES) throw unpacksTooLarge(file, unpacked);
  if (pixels > fileBytes * packing.mostInAByte) {
    throw new PolewardError(
      'file-truncated', `${file} claims ${(pixels / 1e6).toFixed(1)} megapixels in ${fileBytes} bytes, which can't be. `
        + 'Copy or save it again.',
    );
  }
  refuseThinPacking(pixels, fileBytes, file, packing);
}

/** Passes over a JPEG's picture that cost as much as unpacking a picture stored in one pass; twice what common encoders make. */
const USUAL_SCANS = 20;
/** The cost of a row of pixels in addition to its pixels, in pixels; columns, which are stored side by side, cost less. */
const ROW_PIXELS = 16;

/**
 * Throws for a packed picture that takes more work than its number of pixels suggests: `too-large` where it has more passes, or is more
 * like a line, than so few bytes justify. Called before it is unpacked.
 */
export function refuseHiddenWork(width: number, height: number, scans: number, fileBytes: number, file: string, packing: Packing): void {
  const most = mostPixels(fileBytes, packing);
  const passes = Math.max(1, scans / USUAL_SCANS);
  if (width * height * passes > most) {
    const mostScans = Math.floor((USUAL_SCANS * most) / (width * height));
    throw new PolewardError(
      'too-large', `${file} goes over its picture in ${scans} passes, more than the ${mostScans} that are unpacked of one in so few bytes. `
        + 'Save it again, not progressive.',
    );
  }
  if (Math.max(width, ROW_PIXELS) * Math.max(height, ROW_PIXELS) > most) {
    throw new PolewardError(
      'too-large', `${file} is ${width} × ${height} pixels, a line rather than a picture. Give frames as the camera took them.`,
    );
  }
}

/** The most pixels that a packed file of so many bytes is unpacked to. */
export function mostPixels(fileBytes: number, { mostInAByte, cheapMillions, mostInAByteBeyond }: Packing): number {
  return Math.min(LARGEST_PIXELS, Math.max(Math.min(cheapMillions * 1e6, fileBytes * mostInAByte), fileBytes * mostInAByteBeyond));
}

/** Throws `too-large` for more than any file may have, if it is packed more tightly than allowed beyond that. */
export function refuseThinPacking(count: number, fileBytes: number, file: string, packing: Packing, what = 'pixels'): void {
  if (count <= packing.cheapMillions * 1e6 || count <= fileBytes * packing.mostInAByteBeyond) return;
  throw new PolewardError(
    'too-large',
    `${file} holds ${(count / 1e6).toFixed(0)} million ${what} in ${(fileBytes / 1e6).toFixed(2)} million bytes, `
      + `and of so few no more than ${(mostPixels(fileBytes, packing) / 1e6).toFixed(0)} million are unpacked. Save the frame less `
      + 'compressed, or binned.',
  );
}

/** Throws `too-large` for a picture that takes more memory than the limit while it is unpacked. Called before memory is taken. */
export function refuseMemory(bytes: number, file: string): void {
  if (bytes <= MOST_MEMORY_BYTES) return;
  throw new PolewardError(
    'too-large', `${file} would take ${(bytes / 2 ** 30).toFixed(2)} GiB of memory, and this program takes 1 GiB at most. `
      + 'Save it in grey or with fewer bits, not interlaced or progressive, or binned.',
  );
}

/** The error for a packed file that is too large when unpacked. */
export function unpacksTooLarge(file: string, bytes: number): PolewardError {
  // Headers may claim more than has a name.
  const size = bytes < 2 ** 50 ? `${(bytes / 2 ** 30).toFixed(2)} GiB` : 'more than a million GiB';
  return new PolewardError(
    'too-large', `${file} has ${size} once unpacked, and this program unpacks 0.5 GiB at most. Give single frames, binned if need be.`,
  );
}

function tooLarge(file: string, has: string, most: string): PolewardError {
  return new PolewardError(
    'too-large', `${file} has ${has}, more than the ${most} this program reads. Give single frames, binned if need be.`,
  );
}
