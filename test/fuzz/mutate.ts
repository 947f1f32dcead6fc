import { type Random } from '../../src/simulate/random.js';

/** A whole number from 0 to `below` - 1. */
export function below(random: Random, limit: number): number {
  return Math.floor(random.uniform() * limit);
}

export function oneOf<T>(random: Random, list: readonly T[]): T {
  return list[below(random, list.length)] as T;
}

/** True in this share of the cases. */
export function chance(random: Random, share: number): boolean {
  return random.uniform() < share;
}

/** Numbers at which counts, sizes and signs go wrong. */
export const EDGES: readonly number[] = [
  0, 1, 2, 3, 7, 8, 127, 128, 255, 256, 32767, 32768, 65535, 65536, 99999, 2 ** 24, 2 ** 30, 2 ** 31 - 1, 2 ** 31, 2 ** 32 - 2, 2 ** 32 - 1,
];

/** Bytes at random. */
export function noise(random: Random, length: number): Buffer {
  return Buffer.from(Uint8Array.from({ length }, () => below(random, 256)));
}

/** A place in bytes: half of the time near their beginning, where headers lie. */
function place(random: Random, length: number): number {
  return below(random, Math.max(1, chance(random, 0.5) ? Math.min(length, 400) : length));
}

type Step = (random: Random, bytes: Buffer, other: Buffer) => Buffer;

const STEPS: readonly Step[] = [
  // Single bits.
  (random, bytes) => {
    const out = Buffer.from(bytes);
    for (let n = 1 + below(random, 8); n > 0; n--) { const at = place(random, out.length); out[at] = (out[at]
      ?? 0) ^ (1 << below(random, 8)); }
    return out;
  },
  // Single bytes.
  (random, bytes) => {
    const out = Buffer.from(bytes);
    for (let n = 1 + below(random, 4); n > 0; n--) out[place(random, out.length)] = oneOf(random,
      [0, 1, 0x7f, 0x80, 0xff, below(random, 256)]);
    return out;
  },
  // A number of 16 or 32 bits, either way round.
  (random, bytes) => {
    const out = Buffer.from(bytes);
    const at = place(random, out.length);
    const number = oneOf(random, EDGES);
    const wide = chance(random, 0.5);
    if (at + (wide ? 4 : 2) > out.length) return out;
    if (chance(random, 0.5)) { if (wide) out.writeUInt32LE(number, at); else out.writeUInt16LE(number & 0xffff, at); }
    else if (wide) out.writeUInt32BE(number, at);
    else out.writeUInt16BE(number & 0xffff, at);
    return out;
  },
  // Cut short anywhere, or at the end of a block.
  (random, bytes) => {
    const block = oneOf(random, [1, 2, 80, 512, 2880]);
    return bytes.subarray(0, Math.floor(below(random, bytes.length + 1) / block) * block);
  },
  // A piece left out, twice, zeroed, made noise, or put in from elsewhere.
  (random, bytes) => {
    const at = place(random, bytes.length);
    return Buffer.concat([bytes.subarray(0, at), bytes.subarray(at + 1 + below(random, 64))]);
  },
  (random, bytes) => {
    const at = place(random, bytes.length);
    const piece = bytes.subarray(at, at + 1 + below(random, 300));
    return Buffer.concat([bytes.subarray(0, at), piece, bytes.subarray(at)]);
  },
  (random, bytes) => {
    const at = place(random, bytes.length);
    return Buffer.from(bytes).fill(oneOf(random, [0, 0xff]), at, Math.min(bytes.length, at + 1 + below(random, 200)));
  },
  (random, bytes) => {
    const out = Buffer.from(bytes);
    noise(random, 1 + below(random, 40)).copy(out, place(random, bytes.length));
    return out;
  },
  (random, bytes, other) => {
    const at = place(random, bytes.length), from = place(random, other.length);
    return Buffer.concat([bytes.subarray(0, at), other.subarray(from, from + 1 + below(random, 500)), bytes.subarray(at)]);
  },
  (random, bytes, other) => Buffer.concat([bytes.subarray(0, place(random, bytes.length)), other.subarray(place(random, other.length))]),
  (random, bytes) => Buffer.concat([bytes, noise(random, 1 + below(random, 3000))]),
];

/** The same file with one to four things done to it; `other` is where foreign pieces come from. */
export function mutate(random: Random, bytes: Buffer, other: Buffer): Buffer {
  let out = bytes;
  for (let n = 1 + below(random, 4); n > 0; n--) out = oneOf(random, STEPS)(random, out, other);
  return out;
}
