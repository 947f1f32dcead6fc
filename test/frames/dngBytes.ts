import { type Tag, TiffWriter } from './tiffBytes.js';

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
  /** The pixels as they are to stand in the file, where `data` is not. */
  readonly packed?: Buffer;
  /** Bits of a sample as `packed`. Default 16. */
  readonly bits?: number;
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
  /** Bytes to stand at offset 8, where some raw formats have a mark of their own. */
  readonly mark?: string;
  /** What stands in the place of TIFF's number 42: two characters. */
  readonly number?: string;
}

/**
 * A DNG file: the preview (if any) in the first directory and the raw picture in a SubIFD, else the raw picture in the first; the
 * raw pixels last.
 * Source: Digital Negative Specification 1.6 (2021); TIFF 6.0 (1992), section 2; TIFF/EP (ISO 12234-2) for the mosaic's tags.
 */
export function dngBytes(picture: DngPicture): Buffer {
  const { data, bigEndian = false } = picture;
  const pixels = picture.packed ?? Buffer.alloc(data.length * 2);
  if (!picture.packed) data.forEach((value, i) => (bigEndian ? pixels.writeUInt16BE(value, 2 * i) : pixels.writeUInt16LE(value, 2 * i)));
  // What comes before them is as long wherever they lie.
  const file = Buffer.concat([tagsOf(picture, pixels.length, tagsOf(picture, pixels.length, 0).length), pixels]);
  if (picture.number) file.write(picture.number, 2, 'latin1');
  return file;
}

function tagsOf(picture: DngPicture, pixelBytes: number, pixelsAt: number): Buffer {
  const { width, height, preview, bigEndian = false } = picture;
  const pattern = picture.pattern === undefined ? [0, 1, 1, 2] : picture.pattern;
  const cell = picture.cell ?? 2;
  const write = new TiffWriter(bigEndian);
  if (picture.mark) write.add(Buffer.from(picture.mark, 'latin1'));
  const samples = pattern === null ? 3 : 1;
  const raw: Tag[] = [
    [254, 4, [0]], [256, 4, [width]], [257, 4, [height]], [258, 3, Array<number>(samples).fill(picture.bits ?? 16)],
      [259, 3, [picture.compression ?? 1]],
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
