/** Bits of one code: all 17 sizes of a step have codes of five bits. */
const CODE_BITS = 5;
const SIZES = 17;

/**
 * A mosaic as lossless JPEG, the way cameras and DNG store it: columns by turns as two components, each predicted by its left neighbour
 * (the first of a row by the one above). Samples of 16 bits; `width` even.
 * Source: ITU-T T.81 (1992), annex H; Digital Negative Specification 1.6 (2021), chapter 3 (compression 7).
 */
export function losslessJpeg(width: number, height: number, data: Uint16Array): Buffer {
  const word = (value: number): number[] => [value >> 8, value & 255];
  const counts = Array.from({ length: 16 }, (_, i) => (i + 1 === CODE_BITS ? SIZES : 0));
  const head = [
    0xff, 0xd8,
    // Huffman table 0.
    0xff, 0xc4, ...word(2 + 17 + SIZES), 0, ...counts, ...Array.from({ length: SIZES }, (_, i) => i),
    // Frame: lossless, 16 bits, two components.
    0xff, 0xc3, ...word(8 + 6), 16, ...word(height), ...word(width / 2), 2, 1, 0x11, 0, 2, 0x11, 0,
    // Scan: predictor 1.
    0xff, 0xda, ...word(6 + 4), 2, 1, 0, 2, 0, 1, 0, 0,
  ];
  const body: number[] = [];
  let [bits, count] = [0, 0];
  const put = (value: number, length: number): void => {
    for (let i = length - 1; i >= 0; i--) {
      bits = (bits << 1) | ((value >> i) & 1);
      if (++count < 8) continue;
      body.push(bits);
      if (bits === 0xff) body.push(0);
      [bits, count] = [0, 0];
    }
  };
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      const before = x > 1 ? data[i - 2] : y > 0 ? data[i - width] : 32768;
      // Steps are counted modulo 65536, from -32767 to 32768.
      const step = (((data[i] as number) - (before as number) + 32767 + 65536) & 65535) - 32767;
      const size = step === 32768 ? 16 : 32 - Math.clz32(Math.abs(step));
      put(size, CODE_BITS);
      if (size < 16) put(step < 0 ? step + (1 << size) - 1 : step, size);
    }
  }
  while (count > 0) put(1, 1);
  return Buffer.from([...head, ...body, 0xff, 0xd9]);
}
