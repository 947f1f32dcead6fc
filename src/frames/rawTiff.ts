const DNG_VERSION = 50706;
const PHOTOMETRIC = 262;
const COLOUR_MOSAIC = 32803;
const SUB_DIRECTORIES = 330;
/** More directories than any camera writes. */
const MOST_DIRECTORIES = 64;

/**
 * True where a file built as TIFF is a camera raw: it has a DNG version, or a directory whose picture is a colour mosaic.
 * Damaged directories are passed over, and none is read twice.
 * Source: TIFF 6.0 (1992), section 2; TIFF/EP (ISO 12234-2:2001) for the mosaic; Digital Negative Specification 1.6 (2021).
 */
export function isRawTiff(bytes: Buffer): boolean {
  const little = bytes[0] === 0x49;
  const short = (at: number): number => (little ? bytes.readUInt16LE(at) : bytes.readUInt16BE(at));
  const long = (at: number): number => (little ? bytes.readUInt32LE(at) : bytes.readUInt32BE(at));
  if (bytes.length < 8 || short(2) !== 42) return false;
  const seen = new Set<number>();
  const waiting = [long(4)];
  while (waiting.length > 0 && seen.size < MOST_DIRECTORIES) {
    const at = waiting.shift() as number;
    if (at < 8 || at + 2 > bytes.length || seen.has(at)) continue;
    seen.add(at);
    const end = at + 2 + 12 * short(at);
    if (end > bytes.length) continue;
    for (let entry = at + 2; entry < end; entry += 12) {
      const tag = short(entry);
      if (tag === DNG_VERSION) return true;
      if (tag === PHOTOMETRIC && short(entry + 8) === COLOUR_MOSAIC) return true;
      if (tag !== SUB_DIRECTORIES) continue;
      const count = Math.min(long(entry + 4), MOST_DIRECTORIES);
      const list = count === 1 ? entry + 8 : long(entry + 8);
      for (let i = 0; i < count && list + 4 * i + 4 <= bytes.length; i++) waiting.push(long(list + 4 * i));
    }
    if (end + 4 <= bytes.length) waiting.push(long(end));
  }
  return false;
}
