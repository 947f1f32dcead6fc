import { describe, expect, it } from 'vitest';
import { PolewardError } from '../../src/error.js';
import {
  mostPixels, PACKED_BYTES, PACKED_JPEG, PACKED_PICTURE, PACKED_RAW, type Packing, refuseMemory, refuseThinPacking, refuseTooManyBytes,
    refuseTooManyPixels, refuseUnpacking,
} from '../../src/frames/tooLarge.js';

/** The error's code and message; null where nothing is thrown. */
function refusal(step: () => void): string | null {
  try {
    step();
    return null;
  } catch (error) {
    expect(error).toBeInstanceOf(PolewardError);
    return `${(error as PolewardError).code}: ${(error as Error).message}`;
  }
}

const GIB = 2 ** 30;

describe('what is too large is refused', () => {
  it('beyond 200 megapixels, not at them', () => {
    expect(refusal(() => refuseTooManyPixels(200e6, 'a'))).toBeNull();
    expect(refusal(() => refuseTooManyPixels(200e6 + 1, 'a')))
      .toBe('too-large: a has 200 megapixels, more than the 200 this program reads. Give single frames, binned if need be.');
  });
  it('in files beyond 1 GiB', () => {
    expect(refusal(() => refuseTooManyBytes(GIB, 'a'))).toBeNull();
    expect(refusal(() => refuseTooManyBytes(1.5 * GIB, 'a')))
      .toBe('too-large: a has 1.5 GiB, more than the 1 GiB this program reads. Give single frames, binned if need be.');
  });
  it('where unpacking takes more than seven eighths of a GiB of memory, whose last eighth the program has', () => {
    expect(refusal(() => refuseMemory(0.875 * GIB, 'a'))).toBeNull();
    expect(refusal(() => refuseMemory(0.875 * GIB + 1, 'a'))).toMatch(/^too-large: a would take 0\.88 GiB of memory, and this program takes 1 GiB at most\. Save it in grey or with fewer bits, not interlaced or progressive, or binned\.$/);
    expect(refusal(() => refuseMemory(Infinity, 'a'))).toMatch(/^too-large/);
  });
  it('where more than half a GiB is unpacked, in words that have a meaning', () => {
    expect(refusal(() => refuseUnpacking(89e6, 6, 1e8, 'a'))).toBeNull();
    expect(refusal(() => refuseUnpacking(90e6, 6, 1e8, 'a')))
      .toMatch(/^too-large: a has 0\.50 GiB once unpacked, and this program unpacks 0\.5 GiB at most\./);
    expect(refusal(() => refuseUnpacking(2e8, 1e9, 1e8, 'a'))).toMatch(/^too-large: a has more than a million GiB once unpacked/);
  });
  it('where pixels are more than so few bytes can hold', () => {
    expect(refusal(() => refuseUnpacking(4000 * 100, 1, 100, 'a'))).toBeNull();
    expect(refusal(() => refuseUnpacking(4000 * 100 + 1, 1, 100, 'a')))
      .toBe("file-truncated: a claims 0.4 megapixels in 100 bytes, which can't be. Copy or save it again.");
  });
  it('where many pixels are packed more tightly than noise lets', () => {
    expect(refusal(() => refuseUnpacking(24e6, 3, 100_000, 'a'))).toBeNull();
    expect(refusal(() => refuseUnpacking(25e6, 3, 500_000, 'a'))).toBeNull();
    expect(refusal(() => refuseUnpacking(25e6, 3, 499_999, 'a'))).toBe('too-large: a holds 25 million pixels in 0.50 million bytes, and '
      + 'of so few no more than 25 million are unpacked. Save the frame less compressed, or binned.');
    expect(refusal(() => refuseThinPacking(100e6 + 1, 1e6, 'a', PACKED_BYTES, 'bytes')))
      .toMatch(/^too-large: a holds 100 million bytes in 1\.00 million bytes/);
  });
});

describe('the most pixels of a file', () => {
  it.each<[string, number, Packing]>([['a picture', 100, PACKED_PICTURE], ['a picture', 100_000, PACKED_PICTURE],
    ['a picture', 2e6, PACKED_PICTURE], ['a JPEG', 100_000, PACKED_JPEG], ['a JPEG', 1e6, PACKED_JPEG], ['a raw', 1000, PACKED_RAW],
    ['a raw', 1e6, PACKED_RAW], ['a raw', 2e6, PACKED_RAW], ['a raw', 1e9, PACKED_RAW]])(
    '%s of %i bytes are those that are not refused', (_, bytes, packing) => {
      const most = mostPixels(bytes, packing);
      expect(refusal(() => refuseUnpacking(most, 0, bytes, 'a', packing))).toBeNull();
      expect(refusal(() => refuseUnpacking(most + 1, 0, bytes, 'a', packing))).not.toBeNull();
    });
});
