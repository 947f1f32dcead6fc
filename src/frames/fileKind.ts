export type FileKind = 'fits' | 'png' | 'jpeg' | 'tiff';

/** Bytes that {@link fileKind} looks at. */
export const KIND_BYTES = 16;

const MAGIC: readonly (readonly [FileKind, string])[] = [
  ['fits', 'SIMPLE  ='],
  ['png', '\x89PNG\r\n\x1a\n'],
  ['jpeg', '\xff\xd8\xff'],
  ['tiff', 'II*\0'],
  ['tiff', 'MM\0*'],
  // With 64-bit offsets.
  ['tiff', 'II+\0'],
  ['tiff', 'MM\0+'],
];

/** The kind of image file that begins with these bytes, whatever its name says; null for no kind this program reads. */
export function fileKind(bytes: Buffer): FileKind | null {
  const start = bytes.toString('latin1', 0, KIND_BYTES);
  return MAGIC.find(([, magic]) => start.startsWith(magic))?.[0] ?? null;
}
