import { latin1, viewOf } from '../../frames/bytes.js';
import type { PictureHeader } from './pictureHeader.js';

const START_OF_SCAN = 0xda;
const PROGRESSIVE = [0xc2, 0xc6, 0xca, 0xce];
/** Starts of frame that decoders of pictures know: baseline, extended, progressive, with either coding. */
const FRAMES = [0xc0, 0xc1, 0xc2, 0xc9, 0xca];
const [FIRST_APPLICATION, LAST_APPLICATION, COMMENT] = [0xe0, 0xef, 0xfe];
/** Says whether three components are RGB (marker APP14): the pixels need it. */
const COLOUR_TRANSFORM = 0xee;
const XMP = 'http://ns.adobe.com/xap/1.0/\0';

/**
 * The head of a JPEG file. Its plain form lacks EXIF (which could have the picture turned), colour profile, comments.
 * Throws where there is no picture. Source: ITU-T T.81 (1992), annex B; Exif 2.32, section 4.7.2.
 */
export function jpegHeader(bytes: Uint8Array): PictureHeader {
  const view = viewOf(bytes);
  const kept: Uint8Array[] = [bytes.subarray(0, 2)];
  let exif: Uint8Array | null = null;
  let xmp: Uint8Array | null = null;
  let frame: { width: number; height: number; channels: number; inPasses: boolean } | null = null;
  let at = 2;
  while (at + 4 <= bytes.length) {
    if (bytes[at] !== 0xff) throw new Error('no marker where one must be');
    const marker = bytes[at + 1]!;
    if (marker === 0xff) {
      at++;
      continue;
    }
    if (marker === START_OF_SCAN) break;
    const end = at + 2 + view.getUint16(at + 2);
    if (end > bytes.length) throw new Error('it ends in its head');
    const data = bytes.subarray(at + 4, end);
    const extra = (marker >= FIRST_APPLICATION && marker <= LAST_APPLICATION && marker !== COLOUR_TRANSFORM) || marker === COMMENT;
    if (!extra) kept.push(bytes.subarray(at, end));
    if (marker === 0xe1 && latin1(data, 0, 6) === 'Exif\0\0') exif ??= data;
    if (marker === 0xe1 && latin1(data, 0, XMP.length) === XMP) xmp ??= data.subarray(XMP.length);
    if (FRAMES.includes(marker) && data.length >= 6) {
      frame = {
        height: view.getUint16(at + 5), width: view.getUint16(at + 7), channels: bytes[at + 9]!, inPasses: PROGRESSIVE.includes(marker),
      };
    }
    at = end;
  }
  if (!frame || frame.width === 0 || frame.height === 0) throw new Error('no picture');
  const colours = frame.channels === 1 || frame.channels === 3 ? null : `${frame.channels} inks`;
  return { ...frame, exif, xmp, otherColours: colours, plain: joined([...kept, bytes.subarray(at)]) };
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const all = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}
