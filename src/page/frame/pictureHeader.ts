/** What the head of a packed picture says, before its pixels are unpacked. */
export interface PictureHeader {
  readonly width: number;
  readonly height: number;
  /** Samples a pixel, transparency included. */
  readonly channels: number;
  readonly inPasses: boolean;
  readonly exif: Uint8Array | null;
  readonly xmp: Uint8Array | null;
  /** Named where it is neither grey nor red, green and blue. */
  readonly otherColours: string | null;
  /** The file without what would have a decoder turn the picture or change its colours. */
  readonly plain: Uint8Array;
}
