import { LITTLE_ENDIAN } from './bytes.js';
import type { PixelArray } from './frame.js';

/** How stored values become physical ones: zero + scale × stored; a stored value equal to `blank` means no value. */
export interface Scaling {
  readonly scale: number;
  readonly zero: number;
  readonly blank: number | null;
}

export interface Pixels {
  readonly data: PixelArray;
  /** The largest physical value the stored integers can hold; null for floating point and where the scale makes it infinite. */
  readonly ceiling: number | null;
}

/**
 * Pixels of a FITS data unit, in the smallest type that can represent every physical value exactly: integers stay integers where the
 * scaling only moves their origin (the unsigned conventions of FITS 4.0, table 11), NaN marks blank pixels. The bytes are overwritten: 8,
 * 16 and 32-bit pixels are converted in place and not copied, since on some machines new memory costs more than all the arithmetic. Source:
 * FITS Standard 4.0 (2018), sections 5.2, 5.3 and 4.4.2.5 (BSCALE, BZERO, BLANK).
 */
export function decodePixels(bytes: Uint8Array, bitpix: number, scaling: Scaling): Pixels {
  const size = Math.abs(bitpix) / 8;
  const native = aligned(bytes, size);
  const signBits = unsignedMask(bitpix, scaling);
  // Most cameras' frames: byte order and offset changed in one pass over the memory.
  if (signBits !== 0 && scaling.blank === null) {
    toNative(native, size, signBits);
    return unsigned(native, bitpix);
  }
  toNative(native, size);
  return scalePixels(native, bitpix, scaling);
}

/** The same for stored values in the machine's byte order, at an address divisible by their size and by four. */
export function scalePixels(native: Uint8Array, bitpix: number, scaling: Scaling): Pixels {
  const { scale, zero } = scaling;
  const plain = scale === 1 && zero === 0;
  const count = native.length / (Math.abs(bitpix) / 8);
  const [buffer, offset] = [native.buffer, native.byteOffset];

  if (bitpix === -32) {
    const stored = new Float32Array(buffer, offset, count);
    return { data: plain ? stored : rescale(stored, stored, scaling), ceiling: null };
  }
  if (bitpix === -64) {
    const stored = new Float64Array(buffer, offset, count);
    return { data: plain ? stored : rescale(stored, stored, scaling), ceiling: null };
  }

  const ends = [-(2 ** (bitpix - 1)), 2 ** (bitpix - 1) - 1].map((end) => zero + scale * end);
  const highest = bitpix === 8 ? zero + scale * (scale < 0 ? 0 : 255) : Math.max(...ends);
  // A scale of 1e308 makes all values infinite.
  const ceiling = Number.isFinite(highest) ? highest : null;
  if (bitpix === 64) return { data: decode64(native, scaling), ceiling };

  const stored =
    bitpix === 8 ? new Uint8Array(buffer, offset, count)
    : bitpix === 16 ? new Int16Array(buffer, offset, count)
    : new Int32Array(buffer, offset, count);
  if (scaling.blank !== null && stored.includes(scaling.blank)) {
    return { data: rescale(stored, floatsFor(bitpix, count), scaling), ceiling };
  }
  if (plain) return { data: stored, ceiling };
  const signBits = unsignedMask(bitpix, scaling);
  if (signBits !== 0) {
    flip(native, signBits);
    return unsigned(native, bitpix);
  }
  if (scale === 1 && bitpix === 8 && zero === -128) {
    return { data: rescale(stored, new Int16Array(count), scaling), ceiling };
  }
  return { data: rescale(stored, floatsFor(bitpix, count), scaling), ceiling };
}

/** 24 bits of fraction are enough for 8 and 16-bit integers; 32-bit ones need more. */
function floatsFor(bitpix: number, count: number): Float32Array | Float64Array {
  return bitpix === 32 ? new Float64Array(count) : new Float32Array(count);
}

/** The same bytes, at an address at which a typed array can start, without a partial element at the end. */
function aligned(bytes: Uint8Array, size: number): Uint8Array<ArrayBufferLike> {
  const whole = bytes.subarray(0, bytes.length - (bytes.length % size));
  // Words of four bytes are also what flip() works on.
  return whole.byteOffset % Math.max(size, 4) === 0 ? whole : new Uint8Array(whole);
}

/** The sign bits in a 32-bit word of pixels that are unsigned by convention (FITS 4.0, table 11); 0 where they are not. */
function unsignedMask(bitpix: number, { scale, zero }: Scaling): number {
  if (scale !== 1) return 0;
  if (bitpix === 16 && zero === 32768) return 0x80008000;
  return bitpix === 32 && zero === 2147483648 ? 0x80000000 : 0;
}

function unsigned(native: Uint8Array, bitpix: number): Pixels {
  const [buffer, offset] = [native.buffer, native.byteOffset];
  return bitpix === 16
    ? { data: new Uint16Array(buffer, offset, native.length / 2), ceiling: 65535 }
    : { data: new Uint32Array(buffer, offset, native.length / 4), ceiling: 2 ** 32 - 1 };
}

/**
 * Big-endian elements of `size` bytes to the machine's order, in place, at an address divisible by their size and by four; then
 * exclusive or of each 32-bit word with `mask`, the same for all its pixels.
 */
export function toNative(bytes: Uint8Array, size: number, mask = 0): void {
  if (!LITTLE_ENDIAN || size === 1) {
    if (mask !== 0) flip(bytes, mask);
    return;
  }
  const words = new Uint32Array(bytes.buffer, bytes.byteOffset, bytes.byteLength >>> 2);
  if (size === 2) {
    for (let i = 0; i < words.length; i++) {
      const word = words[i] as number;
      words[i] = (((word & 0x00ff00ff) << 8) | ((word >>> 8) & 0x00ff00ff)) ^ mask;
    }
    if (bytes.byteLength % 4 === 2) {
      const end = bytes.byteLength;
      [bytes[end - 2], bytes[end - 1]] = [bytes[end - 1] as number, (bytes[end - 2] as number) ^ (mask >>> 24)];
    }
  } else if (size === 4) {
    for (let i = 0; i < words.length; i++) words[i] = turned(words[i] as number) ^ mask;
  } else {
    for (let i = 0; i + 1 < words.length; i += 2) {
      const high = words[i] as number;
      words[i] = turned(words[i + 1] as number) ^ mask;
      words[i + 1] = turned(high) ^ mask;
    }
  }
}

/** The four bytes of a word in the opposite order. */
function turned(word: number): number {
  return (word << 24) | ((word & 0xff00) << 8) | ((word >>> 8) & 0xff00) | (word >>> 24);
}

/** Exclusive or of each 32-bit word with a mask that is the same for all its pixels: adds or takes the sign bit of integers. */
function flip(bytes: Uint8Array, mask: number): void {
  const words = new Uint32Array(bytes.buffer, bytes.byteOffset, bytes.byteLength >>> 2);
  for (let i = 0; i < words.length; i++) words[i] = (words[i] as number) ^ mask;
  if (bytes.byteLength % 4 === 2) bytes[bytes.byteLength - (LITTLE_ENDIAN ? 1 : 2)]! ^= 0x80;
}

function rescale<T extends PixelArray>(stored: PixelArray, into: T, { scale, zero, blank }: Scaling): T {
  for (let i = 0; i < stored.length; i++) {
    const value = stored[i] as number;
    into[i] = value === blank ? NaN : zero + scale * value;
  }
  return into;
}

/** 64-bit integers as doubles: exact up to 2^53, to 16 digits beyond. Unsigned ones (BZERO 2^63) before rounding, not after. */
function decode64(native: Uint8Array, { scale, zero, blank }: Scaling): Float64Array {
  const unsigned = scale === 1 && zero === 2 ** 63;
  const high = new Int32Array(native.buffer, native.byteOffset, native.byteLength >>> 2);
  const low = new Uint32Array(native.buffer, native.byteOffset, native.byteLength >>> 2);
  const [atHigh, atLow] = LITTLE_ENDIAN ? [1, 0] : [0, 1];
  const data = new Float64Array(native.byteLength / 8);
  for (let i = 0; i < data.length; i++) {
    const h = high[2 * i + atHigh] as number;
    const l = low[2 * i + atLow] as number;
    const stored = h * 4294967296 + l;
    if (stored === blank) data[i] = NaN;
    else data[i] = unsigned ? ((h ^ -2147483648) >>> 0) * 4294967296 + l : zero + scale * stored;
  }
  return data;
}
