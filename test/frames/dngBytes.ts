/** What to write into a DNG; sizes in pixels. */
export interface DngPicture {
  readonly width: number;
  readonly height: number;
  /** The mosaic, row by row; of linear pictures three samples a pixel. */
  readonly data: Uint16Array;
  /** Colours of the repeating cell, row by row: 0 red, 1 green, 2 blue. Default RGGB. Null: three linear samples a pixel. */
  readonly pattern?: readonly number[] | null;
  /** Side of the repeating cell. Default 2. */
  readonly cell?: number;
  readonly blackLevel?: number;
  readonly whiteLevel?: number;
  /** Top, left, bottom, right of the lit area, as DNG's ActiveArea has it. */
  readonly activeArea?: readonly [number, number, number, number];
  /** TIFF's number of the compression claimed. Default 1, none. */
  readonly compression?: number;
  readonly orientation?: number;
  /** A JPEG file to embed as the preview. */
  readonly preview?: { readonly jpeg: Buffer; readonly width: number; readonly height: number };
  readonly exif?: readonly Tag[];
  readonly gps?: readonly Tag[];
  /** Tags that take the place of those written by themselves. */
  readonly instead?: readonly Tag[];
  readonly bigEndian?: boolean;
}

/** TIFF types: 1 byte, 2 text, 3 short, 4 long, 5 rational, 7 undefined, 10 signed rational. */
export type Tag = readonly [tag: number, type: 1 | 2 | 3 | 4 | 5 | 7 | 10, value: string | Buffer | readonly number[]];

/**
 * A DNG file: the preview (if any) in the first directory and the raw picture in a SubIFD, else the raw picture in the first; the
 * raw pixels last.
 * Source: Digital Negative Specification 1.6 (2021); TIFF 6.0 (1992), section 2; TIFF/EP (ISO 12234-2) for the mosaic's tags.
 */
export function dngBytes(picture: DngPicture): Buffer {
  const { data, bigEndian = false } = picture;
  const pixels = Buffer.alloc(data.length * 2);
  data.forEach((value, i) => (bigEndian ? pixels.writeUInt16BE(value, 2 * i) : pixels.writeUInt16LE(value, 2 * i)));
  // What comes before them is as long wherever they lie.
  return Buffer.concat([tagsOf(picture, pixels.length, tagsOf(picture, pixels.length, 0).length), pixels]);
}

function tagsOf(picture: DngPicture, pixelBytes: number, pixelsAt: number): Buffer {
  const { width, height, preview, bigEndian = false } = picture;
  const pattern = picture.pattern === undefined ? [0, 1, 1, 2] : picture.pattern;
  const cell = picture.cell ?? 2;
  const write = new Writer(bigEndian);
  const samples = pattern === null ? 3 : 1;
  const raw: Tag[] = [
    [254, 4, [0]], [256, 4, [width]], [257, 4, [height]], [258, 3, Array<number>(samples).fill(16)], [259, 3, [picture.compression ?? 1]],
    [262, 3, [pattern === null ? 34892 : 32803]], [273, 4, [pixelsAt]], [277, 3, [samples]], [278, 4, [height]], [279, 4, [pixelBytes]],
    [284, 3, [1]],
    ...(pattern === null ? [] : [[33421, 3, [cell, cell]], [33422, 1, pattern]] as Tag[]),
    [50714, 3, [picture.blackLevel ?? 0]], [50717, 4, [picture.whiteLevel ?? 65535]],
    ...(picture.activeArea ? [[50829, 4, picture.activeArea] as Tag] : []),
  ];
  const common: Tag[] = [
    [271, 2, 'Invented'], [272, 2, 'Simulated'], [274, 3, [picture.orientation ?? 1]],
    ...(picture.exif ? [[34665, 4, [write.directory(picture.exif)]] as Tag] : []),
    ...(picture.gps ? [[34853, 4, [write.directory(picture.gps)]] as Tag] : []),
    [50706, 1, [1, 4, 0, 0]], [50707, 1, [1, 1, 0, 0]], [50708, 2, 'Invented Simulated'],
    // The identity: colours don't matter here.
    [50721, 10, [1, 1, 0, 1, 0, 1, 0, 1, 1, 1, 0, 1, 0, 1, 0, 1, 1, 1]], [50728, 5, [1, 1, 1, 1, 1, 1]], [50778, 3, [21]],
  ];
  const replaced = (tags: readonly Tag[]): Tag[] =>
    tags.map((tag) => picture.instead?.find(([number]) => number === tag[0]) ?? tag);
  if (!preview) return write.file(replaced([...common, ...raw]));
  return write.file([
    ...common, [254, 4, [1]], [256, 4, [preview.width]], [257, 4, [preview.height]], [258, 3, [8, 8, 8]], [259, 3, [7]], [262, 3, [6]],
    [273, 4, [write.add(preview.jpeg)]], [277, 3, [3]], [278, 4, [preview.height]], [279, 4, [preview.jpeg.length]],
    [330, 4, [write.directory(replaced(raw))]],
  ]);
}

const SIZES = { 1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 7: 1, 10: 8 } as const;

/** Pieces of a TIFF file, laid one behind the other after the first eight bytes. */
class Writer {
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
