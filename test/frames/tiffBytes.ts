import { deflateSync } from 'node:zlib';

/** TIFF types: 1 byte, 2 text, 3 short, 4 long, 5 rational, 7 undefined, 10 signed rational. */
export type Tag = readonly [tag: number, type: 1 | 2 | 3 | 4 | 5 | 7 | 10, value: string | Buffer | readonly number[]];

/**
 * A grey TIFF file of one strip, deflated or not, with EXIF. `samples` are little-endian.
 * Source: TIFF 6.0 (1992), part 1 and section 19 (floating point); Adobe's technical note of 2002 for deflate.
 */
export function tiffBytes(
  width: number, height: number, bits: 8 | 16 | 32, samples: Buffer, exif: readonly Tag[], deflated = false,
): Buffer {
  const write = new TiffWriter(false);
  const strip = deflated ? deflateSync(samples) : samples;
  return write.file([
    [256, 4, [width]], [257, 4, [height]], [258, 3, [bits]], [259, 3, [deflated ? 8 : 1]], [262, 3, [1]], [273, 4, [write.add(strip)]],
    [277, 3, [1]], [278, 4, [height]], [279, 4, [strip.length]], [339, 3, [bits === 32 ? 3 : 1]], [34665, 4, [write.directory(exif)]],
  ]);
}

const SIZES = { 1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 7: 1, 10: 8 } as const;

/** Pieces of a TIFF file, laid one behind the other after the first eight bytes. */
export class TiffWriter {
  private readonly pieces: Buffer[] = [];
  private length = 8;

  constructor(private readonly bigEndian: boolean) {}

  /** Adds bytes, and returns where they lie. */
  add(bytes: Buffer): number {
    const at = this.length;
    const even = bytes.length % 2 ? Buffer.concat([bytes, Buffer.alloc(1)]) : bytes;
    this.pieces.push(even);
    this.length += even.length;
    return at;
  }

  directory(tags: readonly Tag[]): number {
    const sorted = [...tags].sort((a, b) => a[0] - b[0]);
    const table = Buffer.alloc(2 + 12 * sorted.length + 4);
    this.short(table, sorted.length, 0);
    sorted.forEach(([tag, type, value], i) => {
      const bytes = this.encode(type, value);
      const at = 2 + 12 * i;
      this.short(table, tag, at);
      this.short(table, type, at + 2);
      this.long(table, bytes.length / SIZES[type], at + 4);
      if (bytes.length <= 4) bytes.copy(table, at + 8);
      else this.long(table, this.add(bytes), at + 8);
    });
    return this.add(table);
  }

  file(first: readonly Tag[]): Buffer {
    const at = this.directory(first);
    const head = Buffer.from(this.bigEndian ? 'MM\0*\0\0\0\0' : 'II*\0\0\0\0\0', 'latin1');
    this.long(head, at, 4);
    return Buffer.concat([head, ...this.pieces]);
  }

  private encode(type: Tag[1], value: Tag[2]): Buffer {
    if (typeof value === 'string') return Buffer.from(`${value}\0`, 'latin1');
    if (Buffer.isBuffer(value)) return value;
    const size = type === 5 || type === 10 ? 4 : SIZES[type];
    const bytes = Buffer.alloc(size * value.length);
    value.forEach((number, i) => {
      if (size === 1) bytes.writeUInt8(number, i);
      else if (size === 2) this.short(bytes, number, 2 * i);
      else this.long(bytes, number, 4 * i);
    });
    return bytes;
  }

  private short(bytes: Buffer, value: number, at: number): void {
    if (this.bigEndian) bytes.writeUInt16BE(value, at);
    else bytes.writeUInt16LE(value, at);
  }

  private long(bytes: Buffer, value: number, at: number): void {
    if (this.bigEndian) bytes.writeUInt32BE(value >>> 0, at);
    else bytes.writeUInt32LE(value >>> 0, at);
  }
}
