/** Endings of files that may be frames; of camera raw those of the common formats. The content decides in the end. */
const ENDINGS = [
  'fits', 'fit', 'fts', 'fits.gz', 'fit.gz', 'fts.gz', 'fits.fz', 'fit.fz', 'fts.fz', 'fz',
  'tif', 'tiff', 'png', 'jpg', 'jpeg', 'webp', 'avif',
  'dng', '3fr', 'arw', 'cr2', 'cr3', 'crw', 'dcr', 'erf', 'iiq', 'kdc', 'mef', 'mos', 'mrw', 'nef', 'nrw', 'orf', 'pef', 'raf', 'raw',
  'rw2', 'rwl', 'sr2', 'srw', 'x3f',
];
const PATTERN = new RegExp(`[^/\\\\]\\.(${ENDINGS.map((ending) => ending.replace('.', '\\.')).join('|')})$`, 'i');

/** True where a file's name ends like a frame's. Temporary names ("a.fits.part") don't. */
export function hasFrameEnding(path: string): boolean {
  return PATTERN.test(path);
}
