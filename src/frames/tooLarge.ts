import { PolewardError } from '../error.js';

/** Largest camera sensors have about 150 megapixels. */
const LARGEST_PIXELS = 2e8;
/** 61 megapixels in three 32-bit planes are 0.7 GiB. */
const LARGEST_BYTES = 2 ** 30;

/** Throws `too-large` for a picture of more pixels than any camera's. Asked before memory for them is taken. */
export function refuseTooManyPixels(pixels: number, file: string): void {
  if (pixels > LARGEST_PIXELS) throw tooLarge(file, `${Math.round(pixels / 1e6)} megapixels`, `${LARGEST_PIXELS / 1e6}`);
}

/** Throws `too-large` for a file that holds no single camera frame. */
export function refuseTooManyBytes(bytes: number, file: string): void {
  if (bytes > LARGEST_BYTES) throw tooLarge(file, `${(bytes / 2 ** 30).toFixed(1)} GiB`, '1 GiB');
}

function tooLarge(file: string, has: string, most: string): PolewardError {
  return new PolewardError('too-large', `${file} has ${has}, more than the ${most} this program reads. Give single frames, binned if need be.`);
}
