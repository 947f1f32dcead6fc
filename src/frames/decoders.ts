import type { RasterKind } from './fileKind.js';
import type { PixelArray } from './frame.js';

/** What reading frames needs from the platform: node, or a browser. The core reads FITS, and the tags of the other formats, itself. */
export interface FrameDecoders {
  /** Unpacks gzip (RFC 1952) as a whole. Throws any error where it is damaged or unpacks to more than `mostBytes`. */
  gunzip(packed: Uint8Array, mostBytes: number): Uint8Array;
  /** Unpacks gzip piece by piece, as pieces are asked for. Throws any error where it is damaged. */
  gunzipPieces(packed: Uint8Array): AsyncIterable<Uint8Array>;
  /** Opens a packed picture of this kind. Throws any error where it is another kind or damaged. */
  openPicture(bytes: Uint8Array, kind: RasterKind): Promise<OpenPicture>;
  /** `openPicture` may know HEIC too: a browser's decoder does where the system has one. Absent: it is refused at sight. */
  readonly mayKnowHeic?: true;
  /** What a camera raw contains; its pixels only where they are no more than `mostPixels`. The bytes stay unchanged. Never throws. */
  decodeRaw(bytes: Uint8Array, mostPixels: number): Promise<RawResult>;
}

/** What a packed picture says of itself before its pixels are unpacked. */
export interface OpenPicture {
  readonly width: number;
  readonly height: number;
  /** Samples a pixel, transparency included. */
  readonly channels: number;
  readonly sampleBytes: 1 | 2 | 4 | 8;
  readonly floatingPoint: boolean;
  /** Stored in passes over the whole picture: progressive JPEG, interlaced PNG. */
  readonly inPasses: boolean;
  /** Number of pictures in the file. */
  readonly pages: number;
  /** From "Exif" on, or from where its TIFF structure begins; null where there is none. */
  readonly exif: Uint8Array | null;
  /** A packet of XMP; null where there is none. */
  readonly xmp: Uint8Array | null;
  /** How it stores colours, in words, where that is neither grey nor red, green and blue; null where it is. */
  readonly otherColours: string | null;
  /**
   * Unpacks the pixels: values as stored, pixel after pixel, without transparency, nothing turned or converted. Throws any error where they
   * are damaged.
   */
  samples(): Promise<PictureSamples>;
}

export interface PictureSamples {
  readonly width: number;
  readonly height: number;
  /** Without transparency. */
  readonly channels: number;
  readonly data: PixelArray;
  /** The largest value that the format can hold; null for floating point. */
  readonly ceiling: number | null;
}

/** The result for a camera raw. */
export interface RawResult {
  /** Null where the decoder does not know the file. */
  readonly about: RawAbout | null;
  readonly picture: RawPicture | null;
}

export interface RawAbout {
  /** Of the whole sensor, dark borders included. */
  readonly width: number;
  readonly height: number;
  /** The time on the camera's clock, as milliseconds since 1970-01-01T00:00 on that clock. */
  readonly clockMs: number | null;
  readonly exposureSeconds: number | null;
  readonly focalLengthMillimetres: number | null;
}

/** The sensor's lit part as stored, or the mean of its interpolated colours. */
export interface RawPicture {
  readonly width: number;
  readonly height: number;
  readonly data: PixelArray;
  readonly ceiling: number | null;
  /** The raw pixels of a mosaic of 2x2 cells. */
  readonly mosaic: boolean;
}
