import { viewOf } from './bytes.js';

/** How often a JPEG goes over its picture. */
export interface JpegScans {
  /** Passes over all or some of its components. */
  readonly scans: number;
  /** Stored in passes that each refine the picture (ITU-T T.81, annex G), and not in one, or one for each component. */
  readonly progressive: boolean;
}

const START_OF_SCAN = 0xda;
const END_OF_IMAGE = 0xd9;
/** Start of frame: progressive, with Huffman or arithmetic coding, alone or in a hierarchy. */
const PROGRESSIVE = [0xc2, 0xc6, 0xca, 0xce];
/** Markers without a segment: restart (also inside a scan), start of image, and one for private use. */
const isBare = (marker: number): boolean => (marker >= 0xd0 && marker <= 0xd8) || marker === 0x01;

/**
 * Counts the passes of a JPEG file by its markers, up to the end of its picture or of the bytes; nothing is unpacked.
 * Source: ITU-T T.81 (1992), annex B.
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
