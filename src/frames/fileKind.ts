import { latin1 } from './bytes.js';

export type FileKind = 'fits' | 'gzip' | 'raw' | RasterKind | 'jxl';

/** Formats that an outside decoder unpacks. */
export type RasterKind = 'png' | 'jpeg' | 'tiff' | 'webp' | 'avif' | 'heic';

/** Number of bytes that {@link fileKind} looks at. */
export const KIND_BYTES = 32;

const MAGIC: readonly (readonly [FileKind, RegExp])[] = [
  ['fits', /^SIMPLE {2}=/],
  ['gzip', /^\x1f\x8b\x08/],
  ['png', /^\x89PNG\r\n\x1a\n/],
  ['jpeg', /^\xff\xd8\xff/],
  ['webp', /^RIFF[^]{4}WEBP/],
  // ISO/IEC 14496-12 and 23008-12: the brands of a file, in any order, of the first four.
  ['avif', /^[^]{4}ftyp(avi[fs]|mif1[^]{4}(?:[^]{4})*?avif)/],
  ['heic', /^[^]{4}ftyp(hei[cxms]|hev[cxms]|mif1|msf1)/],
  ['raw', /^[^]{4}ftypcrx /],
  ['jxl', /^(\xff\x0a|\0\0\0\x0cJXL )/],
  // Raw files with TIFF structure, but with a mark of their own in its place or after it: common practice, from memory.
  ['raw', /^(II\*\0[^]{4}(CR|IIII)|II(RO|RS|U\0)|MMOR|II\x1a\0[^]{2,8}HEAP|FOVb|\0MRM|[^]{8}CCD-RAW)/],
  ['tiff', /^(II\*\0|MM\0\*)/],
  // With 64-bit offsets.
  ['tiff', /^(II\+\0|MM\0\+)/],
];

/**
 * The format of an image file that begins with these bytes, whatever its name; null for one that this program does not know. A raw file
 * with plain TIFF structure is recognised only by its tags: see `isRawTiff`.
 */
export function fileKind(bytes: Uint8Array): FileKind | null {
  const start = latin1(bytes, 0, KIND_BYTES);
  return MAGIC.find(([, magic]) => magic.test(start))?.[0] ?? null;
}
