/** Bits of a pass in which every block says "nothing more here": zeros, and ones to fill the last byte. */
function noughts(bits: number): Buffer {
  const bytes = Buffer.alloc(Math.ceil(bits / 8));
  bytes[bytes.length - 1] = 2 ** (8 * bytes.length - bits) - 1;
  return bytes;
}

const segment = (marker: number, data: readonly number[]): Buffer => Buffer.of(0xff, marker, (data.length + 2) >> 8,
  (data.length + 2) & 0xff, ...data);
/** Blocks that one code passes over: its number of bits is that of a run of 2^14 or more. */
const RUN = 2 ** 14;
/** Passes that each coefficient of each component may have: its highest bits first, then one bit a pass (ITU-T T.81, annex G). */
export const MOST_PASSES = 3 * 63 * 14;

/**
 * A valid progressive JPEG of an even grey picture in three components, stored in as many passes as asked for: as many as
 * {@link MOST_PASSES} and one are valid. Source: ITU-T T.81 (1992), annexes B and G.
 */
export function jpegInPasses(width: number, height: number, passes: number): Buffer {
  const blocks = Math.ceil(width / 8) * Math.ceil(height / 8);
  const one = (components: readonly number[], from: number, bits: number, data: Buffer): Buffer[] =>
    [segment(0xda, [components.length, ...components.flatMap((c) => [c, 0]), from, from, bits]), data];
  const nothing = noughts(Math.ceil(blocks / RUN) * 15);
  const scans = one([1, 2, 3], 0, 0, noughts(3 * blocks));
  for (let n = 0; n < Math.min(passes - 1, MOST_PASSES); n++) {
    const low = 13 - Math.floor(n / (3 * 63));
    scans.push(...one([1 + (n % 3)], 1 + Math.floor((n % (3 * 63)) / 3), low === 13 ? low : ((low + 1) << 4) | low, nothing));
  }
  const table = (id: number, symbol: number): Buffer => segment(0xc4, [id, 1, ...Array<number>(15).fill(0), symbol]);
  return Buffer.concat([
    Buffer.of(0xff, 0xd8), segment(0xdb, [0, ...Array<number>(64).fill(1)]),
    segment(0xc2, [8, height >> 8, height & 0xff, width >> 8, width & 0xff, 3, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0]),
    table(0x00, 0), table(0x10, 0xe0), ...scans, Buffer.of(0xff, 0xd9),
  ]);
}
