import { deflateSync } from 'node:zlib';
import type { Random } from '../../src/simulate/random.js';
import { type DngPicture, dngBytes } from '../frames/dngBytes.js';
import type { Tag } from '../frames/tiffBytes.js';
import { below, chance, EDGES, mutate, noise, oneOf } from './mutate.js';

/** Tags of pictures, of digital negatives, of EXIF and GPS, and none. */
const TAGS = [
  254, 256, 257, 258, 259, 262, 266, 271, 272, 273, 274, 277, 278, 279, 282, 284, 305, 306, 317, 322, 323, 324, 325, 330, 338, 339, 347,
    512, 513, 514, 529, 530,
  700, 33421, 33422, 33434, 33437, 34665, 34853, 36867, 36868, 36881, 37386, 37500, 37521, 40961, 40965, 41486, 41487, 41488, 50706, 50707,
    50708, 50710, 50711, 50712,
  50713, 50714, 50717, 50718, 50719, 50720, 50721, 50728, 50740, 50778, 50829, 50830, 51008, 51009, 51022, 0, 1, 2, 3, 4, 5, 6, 7, 29,
    65535,
];
const TEXTS = ['0000:00:00 00:00:00', '2026:02:31 25:61:61', '9999:99:99 99:99:99', '    :  :     :  :  ', '2026:11:25 20:30:00', '+99:99',
  '\x1b[2J', 'N', 'S', '', '\xff\xff'];

/** A TIFF structure (also EXIF) from nothing: directories that overlap, run in circles, lie outside, with any types and counts. */
export function inventedDirectories(random: Random): Buffer {
  const little = chance(random, 0.6);
  const size = 64 + below(random, 1200);
  const bytes = chance(random, 0.5) ? noise(random, size) : Buffer.alloc(size);
  const short = (value: number, at: number): void => { if (at + 2 <= size) { if (little) bytes.writeUInt16LE(value & 0xffff,
    at); else bytes.writeUInt16BE(value & 0xffff, at); } };
  const long = (value: number, at: number): void => { if (at + 4 <= size) { if (little) bytes.writeUInt32LE(value >>> 0,
    at); else bytes.writeUInt32BE(value >>> 0, at); } };
  bytes.write(little ? 'II*\0' : 'MM\0*', 0, 'latin1');
  const starts = Array.from({ length: 1 + below(random, 4) }, (_, i) => (i === 0 ? 8 : 8 + below(random, size - 8)));
  const somewhere = (): number => oneOf(random, [...starts, ...starts, below(random, size), size - 1, size, oneOf(random, EDGES)]);
  long(chance(random, 0.9) ? 8 : somewhere(), 4);
  for (const start of starts) {
    const count = oneOf(random, [0, 1, 4, 8, 14, 20, 65535]);
    short(count, start);
    const entries = Math.min(count, 24);
    for (let i = 0; i < entries; i++) {
      const at = start + 2 + 12 * i;
      short(oneOf(random, TAGS), at);
      short(oneOf(random, [0, 1, 2, 3, 4, 5, 7, 9, 10, 11, 12, 13, 255]), at + 2);
      long(chance(random, 0.6) ? 1 + below(random, 4) : oneOf(random, EDGES), at + 4);
      long(chance(random, 0.5) ? somewhere() : oneOf(random, EDGES), at + 8);
    }
    // Often its own place: a circle.
    long(somewhere(), start + 2 + 12 * entries);
  }
  if (chance(random, 0.3)) bytes.write(oneOf(random, TEXTS), below(random, size - 20), 'latin1');
  return bytes;
}

/** A TIFF file that is wrong somewhere. */
export function hostileTiff(random: Random, seeds: readonly Buffer[]): Buffer {
  return chance(random, 0.75) ? damagedEntries(random, oneOf(random, seeds), seeds) : inventedDirectories(random);
}

/** EXIF likewise. */
export function hostileExif(random: Random, seeds: readonly Buffer[]): Buffer {
  if (chance(random, 0.1)) return noise(random, below(random, 300));
  const bytes = hostileTiff(random, seeds);
  return chance(random, 0.5) ? Buffer.concat([Buffer.from('Exif\0\0'), bytes]) : bytes;
}

/** A whole TIFF structure with some of its entries' types, counts and values replaced, or bytes damaged anywhere. */
function damagedEntries(random: Random, seed: Buffer, seeds: readonly Buffer[]): Buffer {
  if (chance(random, 0.4) || seed.length < 16) return mutate(random, seed, oneOf(random, seeds));
  const out = Buffer.from(seed);
  const little = out[0] === 0x49;
  const short = (at: number): number => (little ? out.readUInt16LE(at) : out.readUInt16BE(at));
  const long = (at: number): number => (little ? out.readUInt32LE(at) : out.readUInt32BE(at));
  const setLong = (value: number, at: number): number => (little ? out.writeUInt32LE(value >>> 0, at) : out.writeUInt32BE(value >>> 0, at));
  const setShort = (value: number, at: number): number => (little ? out.writeUInt16LE(value & 0xffff, at)
    : out.writeUInt16BE(value & 0xffff, at));
  // The first directory, and those its entries point at.
  const starts = [long(4)];
  for (const start of starts) {
    if (start + 2 > out.length || starts.length > 8) continue;
    for (let i = 0, at = start + 2; i < short(start) && at + 12 <= out.length; i++,
      at += 12) if ([330, 34665, 34853].includes(short(at))) starts.push(long(at + 8));
  }
  for (let n = 1 + below(random, 4); n > 0; n--) {
    const start = oneOf(random, starts);
    if (start + 2 > out.length) continue;
    const at = start + 2 + 12 * below(random, Math.min(short(start), 60));
    if (at + 12 > out.length) continue;
    const way = below(random, 6);
    if (way === 0) setShort(oneOf(random, TAGS), at);
    else if (way === 1) setShort(below(random, 14), at + 2);
    else if (way === 2) setLong(oneOf(random, EDGES), at + 4);
    else if (way === 3) setLong(oneOf(random, EDGES), at + 8);
    else if (way === 4) setLong(below(random, out.length), at + 8);
    // A circle.
    else if (start + 6 + 12 * short(start) <= out.length) setLong(oneOf(random, starts), start + 2 + 12 * short(start));
  }
  return out;
}

/** A digital negative with any sizes, layouts and compressions, or damaged, or another raw format's beginning. */
export function hostileRaw(random: Random, seeds: readonly Buffer[]): Buffer {
  const way = random.uniform();
  if (way < 0.4) return damagedEntries(random, oneOf(random, seeds), seeds);
  if (way < 0.5) return inventedDirectories(random);
  if (way < 0.65) return otherMark(random, chance(random, 0.5) ? mutate(random, oneOf(random, seeds), oneOf(random, seeds))
    : noise(random, 100 + below(random, 3000)));
  return chance(random, 0.7) ? dngBytes(inventedDng(random)) : mutate(random, dngBytes(inventedDng(random)), oneOf(random, seeds));
}

function inventedDng(random: Random): DngPicture {
  const [width, height] = [1 + below(random, 40), 1 + below(random, 40)];
  const linear = chance(random, 0.2);
  const data = Uint16Array.from({ length: width * height * (linear ? 3 : 1) }, () => below(random, 65536));
  const instead: Tag[] = [];
  for (let n = below(random, 3); n > 0; n--) {
    instead.push([oneOf(random, [256, 257, 258, 259, 262, 273, 277, 278, 279, 284, 33421, 50714, 50717, 50829, 50706, 274]), 4,
      [oneOf(random, EDGES)]]);
  }
  return {
    width, height, data, instead, bigEndian: chance(random, 0.3),
    pattern: linear ? null : Array.from({ length: oneOf(random, [4, 4, 36, 3]) }, () => below(random, 5)),
    cell: oneOf(random, [2, 2, 2, 6, 0, 1, 8, 255]), blackLevel: oneOf(random, EDGES) & 0xffff, whiteLevel: oneOf(random, EDGES),
    compression: oneOf(random, [1, 1, 7, 8, 34892, 34713, 65535, 5, 32767, 32773]), bits: oneOf(random, [1, 8, 10, 12, 14, 16, 24, 32, 64]),
    ...(chance(random, 0.3) ? { activeArea: [below(random, 50), below(random, 50), oneOf(random, EDGES), oneOf(random, EDGES)] as const }
      : {}),
    ...(chance(random, 0.3) ? { packed: chance(random, 0.5) ? noise(random, below(random, 2000))
      : deflateSync(Buffer.alloc(below(random, 4000))) } : {}),
  };
}

/** Beginnings of raw formats that are not plain TIFF, as `fileKind` knows them. */
function otherMark(random: Random, bytes: Buffer): Buffer {
  const mark = oneOf(random, ['II*\0\x10\0\0\0CR\x02\0', 'IIRO\x08\0\0\0', 'IIRS\x08\0\0\0', 'IIU\0\x08\0\0\0', 'MMOR\0\0\0\x08',
    'II\x1a\0\0\0HEAPCCDR', 'FOVb', '\0MRM', 'INVENTEDCCD-RAW ', '\0\0\0\x18ftypcrx \0\0\0\x01crx isom']);
  const head = Buffer.from(mark, 'latin1');
  const room = bytes.length < head.length ? Buffer.alloc(head.length) : Buffer.from(bytes);
  head.copy(room);
  return room;
}
