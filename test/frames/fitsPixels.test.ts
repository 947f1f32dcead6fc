import { describe, expect, it } from 'vitest';
import { decodePixels } from '../../src/frames/fitsPixels.js';

const plain = { scale: 1, zero: 0, blank: null };
const bytes = (hex: string) => Buffer.from(hex.replaceAll(' ', ''), 'hex');
const values = (hex: string, bitpix: number, scaling = {}) => [...decodePixels(bytes(hex), bitpix, { ...plain, ...scaling }).data];

describe('pixels from bytes put together by hand (FITS 4.0, section 5)', () => {
  it('reads 8-bit unsigned integers', () => {
    expect(values('00 01 7f 80 ff', 8)).toEqual([0, 1, 127, 128, 255]);
  });
  it('knows no ceiling where the scale makes it infinite', () => {
    for (const bitpix of [8, 16, 32, 64]) expect(decodePixels(bytes('00 00 00 00 00 00 00 01'), bitpix, { ...plain, scale: 1e308 }).ceiling)
      .toBeNull();
  });
  it('reads 16-bit integers', () => {
    expect(values('0001 ffff 8000 7fff 0100', 16)).toEqual([1, -1, -32768, 32767, 256]);
  });
  it('reads unsigned 16-bit integers, BZERO 32768, an odd number of them too', () => {
    expect(values('8000 7fff 0000 8001 ffff', 16, { zero: 32768 })).toEqual([0, 65535, 32768, 1, 32767]);
  });
  it('reads 32-bit integers', () => {
    expect(values('00000001 ffffffff 80000000 00010000', 32)).toEqual([1, -1, -2147483648, 65536]);
  });
  it('reads unsigned 32-bit integers, BZERO 2^31', () => {
    expect(values('80000000 7fffffff 00000000', 32, { zero: 2147483648 })).toEqual([0, 4294967295, 2147483648]);
  });
  it('reads 64-bit integers, exactly up to 2^53', () => {
    expect(values('0000000000000001 ffffffffffffffff 001fffffffffffff 8000000000000000', 64)).toEqual([1, -1, 2 ** 53 - 1, -(2 ** 63)]);
  });
  it('reads unsigned 64-bit integers, BZERO 2^63, the small ones exactly', () => {
    expect(values('8000000000000003 8000000100000000', 64, { zero: 2 ** 63 })).toEqual([3, 4294967296]);
  });
  it('reads 32-bit floating point, NaN and infinity', () => {
    // IEEE 754: 1 = 3f800000, -2.5 = c0200000.
    expect(values('3f800000 c0200000 7fc00000 7f800000', -32)).toEqual([1, -2.5, NaN, Infinity]);
  });
  it('reads 64-bit floating point', () => {
    expect(values('3ff0000000000000 c004000000000000 7ff8000000000000', -64)).toEqual([1, -2.5, NaN]);
  });
  it('scales by BSCALE and BZERO', () => {
    expect(values('0001 fffe', 16, { scale: 0.5, zero: 10 })).toEqual([10.5, 9]);
    expect(values('40000000', -32, { scale: 3, zero: 1 })).toEqual([7]);
    expect(values('00 ff', 8, { scale: -1, zero: 255 })).toEqual([255, 0]);
  });
  it('makes blank pixels NaN, judged by the stored value', () => {
    expect(values('8000 0001', 16, { zero: 32768, blank: -32768 })).toEqual([NaN, 32769]);
    expect(values('00 05', 8, { blank: 5 })).toEqual([0, NaN]);
  });
  it('keeps the integer type where BLANK is named but no pixel has it', () => {
    expect(decodePixels(bytes('0001 0002'), 16, { ...plain, blank: -32768 }).data).toBeInstanceOf(Int16Array);
  });
  it('gives the ceiling of a negative scale', () => {
    expect(decodePixels(bytes('00'), 8, { scale: -2, zero: 1, blank: null }).ceiling).toBe(1);
    expect(decodePixels(bytes('0000'), 16, { scale: -1, zero: 0, blank: null }).ceiling).toBe(32768);
  });
  it('reads data at any address', () => {
    const room = Buffer.alloc(64);
    for (let at = 0; at < 8; at++) {
      bytes('0001 0002 8000').copy(room, at);
      expect([...decodePixels(room.subarray(at, at + 6), 16, plain).data]).toEqual([1, 2, -32768]);
    }
  });
});
