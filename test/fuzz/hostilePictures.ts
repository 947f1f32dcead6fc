import type { Random } from '../../src/simulate/random.js';
import { below, chance, EDGES, mutate, noise, oneOf } from './mutate.js';

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

/** CRC-32 as PNG has it (PNG 1.2, section 15). */
export function crc32(bytes: Buffer): number {
  let c = 0xffffffff;
  for (const byte of bytes) c = (CRC_TABLE[(c ^ byte) & 255] as number) ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}

/** PNG whose pieces are damaged but carry the right sums (PNG 1.2, section 3.4), so that the decoder does not stop at the first. */
export function hostilePng(random: Random, seeds: readonly Buffer[]): Buffer {
  const seed = oneOf(random, seeds);
  if (chance(random, 0.4)) return mutate(random, seed, oneOf(random, seeds));
  const pieces = pngPieces(seed);
  const foreign = pngPieces(oneOf(random, seeds));
  for (let n = 1 + below(random, 3); n > 0 && pieces.length > 0; n--) {
    const i = below(random, pieces.length);
    const piece = pieces[i] as { name: string; data: Buffer };
    const way = below(random, 6);
    if (way === 0 && piece.data.length >= 8) piece.data.writeUInt32BE(oneOf(random, EDGES), oneOf(random, [0, 4]));
    else if (way === 1 && piece.data.length > 0) piece.data[below(random, Math.min(16, piece.data.length))] = below(random, 256);
    else if (way === 2) pieces.splice(i, 1);
    else if (way === 3) pieces.splice(below(random, pieces.length + 1), 0, oneOf(random, foreign));
    else if (way === 4) piece.name = oneOf(random, ['PLTE', 'tRNS', 'IDAT', 'iCCP', 'eXIf', 'gAMA', 'IEND', 'zTXt', 'IHDR', 'abcd']);
    else piece.data = piece.data.length > 0 ? mutate(random, piece.data, seed) : noise(random, 20);
  }
  return Buffer.concat([seed.subarray(0, 8), ...pieces.map(({ name, data }) => {
    const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
    const out = Buffer.alloc(body.length + 8);
    out.writeUInt32BE(chance(random, 0.98) ? data.length : oneOf(random, EDGES), 0);
    body.copy(out, 4);
    out.writeUInt32BE(crc32(body), 4 + body.length);
    return out;
  })]);
}

function pngPieces(bytes: Buffer): { name: string; data: Buffer }[] {
  const pieces = [];
  for (let at = 8; at + 12 <= bytes.length;) {
    const length = bytes.readUInt32BE(at);
    pieces.push({ name: bytes.toString('latin1', at + 4, at + 8), data: Buffer.from(bytes.subarray(at + 8, at + 8 + length)) });
    at += 12 + length;
  }
  return pieces;
}

/** JPEG with sizes, tables and segments damaged, doubled, moved or left out (ITU-T T.81, annex B). */
export function hostileJpeg(random: Random, seeds: readonly Buffer[]): Buffer {
  const seed = oneOf(random, seeds);
  if (chance(random, 0.45)) return mutate(random, seed, oneOf(random, seeds));
  const segments: Buffer[] = [];
  let at = 2;
  while (at + 4 <= seed.length && seed[at] === 0xff && seed[at + 1] !== 0xda) {
    const length = 2 + seed.readUInt16BE(at + 2);
    segments.push(Buffer.from(seed.subarray(at, at + length)));
    at += length;
  }
  for (let n = 1 + below(random, 3); n > 0 && segments.length > 0; n--) {
    const i = below(random, segments.length);
    const segment = segments[i] as Buffer;
    const frame = segments.find((s) => (s[1] ?? 0) >= 0xc0 && (s[1] ?? 0) <= 0xc2);
    const way = below(random, 6);
    if (way === 0 && frame && frame.length >= 10) frame.writeUInt16BE(oneOf(random, EDGES) & 0xffff, oneOf(random, [5, 7]));
    else if (way === 1) segment[4 + below(random, Math.max(1, segment.length - 4))] = below(random, 256);
    else if (way === 2) segments.splice(i, 1);
    else if (way === 3) segments.splice(below(random, segments.length + 1), 0, Buffer.from(segment));
    else if (way === 4) segment[1] = oneOf(random, [0xc0, 0xc1, 0xc2, 0xc3, 0xc4, 0xc9, 0xdb, 0xdd, 0xe0, 0xe1, 0xe2, 0xee, 0xfe]);
    else segments[i] = mutate(random, segment, seed);
  }
  const tail = chance(random, 0.8) ? seed.subarray(at) : mutate(random, seed.subarray(at), seed);
  return Buffer.concat([seed.subarray(0, 2), ...segments, tail]);
}

/** WebP (RIFF) and AVIF (ISO base media) with lengths, sizes and names of their boxes damaged. */
export function hostileBoxes(random: Random, seeds: readonly Buffer[], names: readonly string[]): Buffer {
  const seed = oneOf(random, seeds);
  if (chance(random, 0.5)) return mutate(random, seed, oneOf(random, seeds));
  const out = Buffer.from(seed);
  for (let n = 1 + below(random, 3); n > 0; n--) {
    const at = out.indexOf(oneOf(random, names), 0, 'latin1');
    if (at < 4) continue;
    const way = below(random, 4);
    if (way === 0) out.writeUInt32BE(oneOf(random, EDGES), at - 4);
    else if (way === 1 && at + 8 <= out.length) out.writeUInt32LE(oneOf(random, EDGES), at + 4);
    else if (way === 2) out.write(oneOf(random, names), at, 'latin1');
    else out[Math.min(out.length - 1, at + 4 + below(random, 24))] = oneOf(random, [0, 1, 0x7f, 0x80, 0xff, below(random, 256)]);
  }
  return out;
}

export const WEBP_NAMES = ['RIFF', 'WEBP', 'VP8 ', 'VP8L', 'VP8X', 'ALPH', 'ANIM', 'ANMF', 'EXIF', 'ICCP'];
export const AVIF_NAMES = ['meta', 'hdlr', 'pitm', 'iloc', 'iinf', 'infe', 'iprp', 'ipco', 'ispe', 'pixi', 'av1C', 'colr', 'ipma', 'mdat',
  'iref', 'auxC', 'Exif', 'av01', 'cdsc'];
