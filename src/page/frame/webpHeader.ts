import { latin1, viewOf } from '../../frames/bytes.js';
import type { PictureHeader } from './pictureHeader.js';

const RIFF_BYTES = 12;
const [HAS_PROFILE, HAS_ALPHA, HAS_EXIF, HAS_XMP] = [0x20, 0x10, 0x08, 0x04];

/**
 * The head of a WebP file. Its plain form lacks colour profile, EXIF and XMP. Throws where there is no picture.
 * Source: RFC 9649, sections 2.5 to 2.7; RFC 6386, section 9.1.
 */
export function webpHeader(bytes: Uint8Array): PictureHeader {
  const view = viewOf(bytes);
  const pieces = new Map<string, Uint8Array>();
  const plain: Uint8Array[] = [];
  for (let at = RIFF_BYTES; at + 8 <= bytes.length;) {
    const name = latin1(bytes, at, at + 4);
    const length = view.getUint32(at + 4, true);
    const data = bytes.subarray(at + 8, at + 8 + length);
    if (!pieces.has(name)) pieces.set(name, data);
    const next = Math.min(bytes.length, at + 8 + length + (length & 1));
    if (name === 'VP8X') plain.push(withoutExtras(bytes.slice(at, next)));
    else if (!['ICCP', 'EXIF', 'XMP '].includes(name)) plain.push(bytes.subarray(at, next));
    at = next;
  }
  return {
    ...sizeOf(pieces), inPasses: false, exif: pieces.get('EXIF') ?? null, xmp: pieces.get('XMP ') ?? null, otherColours: null,
    plain: riff(plain),
  };
}

function withoutExtras(piece: Uint8Array): Uint8Array {
  if (piece.length > 8) piece[8]! &= ~(HAS_PROFILE | HAS_EXIF | HAS_XMP);
  return piece;
}

function sizeOf(pieces: ReadonlyMap<string, Uint8Array>): Pick<PictureHeader, 'width' | 'height' | 'channels'> {
  const extended = pieces.get('VP8X');
  if (extended && extended.length >= 10) {
    const size = (at: number): number => 1 + extended[at]! + extended[at + 1]! * 256 + extended[at + 2]! * 65536;
    return { width: size(4), height: size(7), channels: (extended[0]! & HAS_ALPHA) === 0 ? 3 : 4 };
  }
  const lossy = pieces.get('VP8 ');
  if (lossy && lossy.length >= 10) {
    const size = (at: number): number => (lossy[at]! + lossy[at + 1]! * 256) & 0x3fff;
    return { width: size(6), height: size(8), channels: 3 };
  }
  const lossless = pieces.get('VP8L');
  if (lossless && lossless.length >= 5) {
    const bits = viewOf(lossless).getUint32(1, true);
    return { width: 1 + (bits & 0x3fff), height: 1 + ((bits >>> 14) & 0x3fff), channels: (bits >>> 28) & 1 ? 4 : 3 };
  }
  throw new Error('no picture');
}

function riff(pieces: readonly Uint8Array[]): Uint8Array {
  const length = pieces.reduce((sum, piece) => sum + piece.length, 0);
  const all = new Uint8Array(RIFF_BYTES + length);
  all.set(Uint8Array.from('RIFF', (c) => c.charCodeAt(0)));
  viewOf(all).setUint32(4, 4 + length, true);
  all.set(Uint8Array.from('WEBP', (c) => c.charCodeAt(0)), 8);
  let at = RIFF_BYTES;
  for (const piece of pieces) {
    all.set(piece, at);
    at += piece.length;
  }
  return all;
}
