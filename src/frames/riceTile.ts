/** The number of bits that give a block's coding, and the code for "not coded", by the size of a pixel in bytes. */
const CODES = { 1: [3, 6], 2: [4, 14], 4: [5, 25] } as const;

export type RiceBytes = keyof typeof CODES;

/**
 * Pixels of one tile compressed by the Rice algorithm: the differences of neighbours, in blocks of pixels that share the number of
 * bits sent as they are, the rest in unary. Bytes per pixel: 1 (unsigned), 2, 4 (signed).
 * Throws RangeError where the bytes end before the pixels do.
 * Source: FITS Standard 4.0 (2018), section 10.4.1; Rice, Yeh & Miller 1993 (Proc. 9th AIAA Computing in Aerospace Conf., 93-4541).
 */
export function decodeRice(
  bytes: Uint8Array, count: number, bytesPerPixel: RiceBytes, blockSize: number,
): Uint8Array | Int16Array | Int32Array {
  const pixels = bytesPerPixel === 1 ? new Uint8Array(count) : bytesPerPixel === 2 ? new Int16Array(count) : new Int32Array(count);
  const [codeBits, raw] = CODES[bytesPerPixel];
  const pixelBits = 8 * bytesPerPixel;
  let last = 0;
  let at = 0;
  while (at < bytesPerPixel) last = (last << 8) | (bytes[at++] ?? 0);
  // The low `bits` bits of `word` are still to be used.
  let word = bytes[at++] ?? 0;
  let bits = 8;
  for (let i = 0; i < count;) {
    bits -= codeBits;
    while (bits < 0) {
      word = (word << 8) | (bytes[at++] ?? 0);
      bits += 8;
    }
    const low = (word >>> bits) - 1;
    word &= (1 << bits) - 1;
    const end = Math.min(i + blockSize, count);
    if (low < 0) {
      pixels.fill(last, i, end);
      i = end;
    } else if (low === raw) {
      for (; i < end; i++) {
        let left = pixelBits - bits;
        // JavaScript shifts by 32 as by 0; there is then nothing to shift.
        let step = word << left;
        for (left -= 8; left >= 0; left -= 8) step |= (word = bytes[at++] ?? 0) << left;
        if (bits > 0) {
          word = bytes[at++] ?? 0;
          step |= word >>> -left;
          word &= (1 << bits) - 1;
        } else {
          word = 0;
        }
        last = (last + unfolded(step)) | 0;
        pixels[i] = last;
      }
    } else {
      for (; i < end; i++) {
        while (word === 0) {
          if (at >= bytes.length) throw new RangeError('Rice-compressed bytes end too early');
          bits += 8;
          word = bytes[at++] as number;
        }
        const zeros = bits - (32 - Math.clz32(word));
        bits -= zeros + 1;
        word ^= 1 << bits;
        bits -= low;
        while (bits < 0) {
          word = (word << 8) | (bytes[at++] ?? 0);
          bits += 8;
        }
        const step = (zeros << low) | (word >>> bits);
        word &= (1 << bits) - 1;
        last = (last + unfolded(step)) | 0;
        pixels[i] = last;
      }
    }
    if (at > bytes.length) throw new RangeError('Rice-compressed bytes end too early');
  }
  return pixels;
}

/** 0, 1, 2, 3, 4, … stand for 0, -1, 1, -2, 2, …. */
function unfolded(step: number): number {
  return step & 1 ? ~(step >>> 1) : step >>> 1;
}
