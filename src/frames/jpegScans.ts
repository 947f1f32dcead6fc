import { viewOf } from './bytes.js';

/** How many times a JPEG passes over its picture. */
export interface JpegScans {
  /** Passes over all or some of its components. */
  readonly scans: number;
  /** Stored in passes that each refine the picture (ITU-T T.81, annex G), not in one pass, or one for each component. */
  readonly progressive: boolean;
}

const START_OF_SCAN = 0xda;
const END_OF_IMAGE = 0xd9;
/** Start of frame: progressive, with Huffman or arithmetic coding, alone or in a hierarchy. */
const PROGRESSIVE = [0xc2, 0xc6, 0xca, 0xce];
/** Markers without a segment: restart (also inside a scan), start of image, and one for private use. */
const isBare = (marker: number): boolean => (marker >= 0xd0 && marker <= 0xd8) || marker === 0x01;

/**
 * Passes of all JPEG pictures anywhere in the bytes (strips of a TIFF): starts of scans with one to four components. Packed data don't
 * contain that mark, and the tables between them hardly ever.
 */
export function scansWithin(bytes: Uint8Array): number {
  let scans = 0;
  for (let at = bytes.indexOf(START_OF_SCAN, 1); at > 0; at = bytes.indexOf(START_OF_SCAN, at + 1)) {
    const components = bytes[at + 3];
    if (bytes[at - 1] !== 0xff || bytes[at + 1] !== 0 || components === undefined) continue;
    if (components >= 1 && components <= 4 && bytes[at + 2] === 6 + 2 * components) scans++;
  }
  return scans;
}

/**
 * Counts the passes of a JPEG file by its markers, up to the end of its picture or of the bytes, without unpacking. Source: ITU-T T.81
 * (1992), annex B.
 */
export function jpegScans(bytes: Uint8Array): JpegScans {
  const view = viewOf(bytes);
  let scans = 0;
  let progressive = false;
  // Inside a scan 0xff is followed by 0 or by a restart marker; anything else ends it.
  for (let at = bytes.indexOf(0xff, 2); at >= 0 && at + 1 < bytes.length; at = bytes.indexOf(0xff, at)) {
    const marker = bytes[at + 1] as number;
    if (marker === END_OF_IMAGE) break;
    if (marker === 0xff) {
      at++;
      continue;
    }
    if (marker === 0 || isBare(marker)) {
      at += 2;
      continue;
    }
    if (marker === START_OF_SCAN) scans++;
    if (PROGRESSIVE.includes(marker)) progressive = true;
    if (at + 4 > bytes.length) break;
    at += 2 + view.getUint16(at + 2);
  }
  return { scans, progressive };
}
