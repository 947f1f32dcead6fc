import { latin1, viewOf } from './bytes.js';

/** Chunks that the pixels and the time of a PNG need; `eXIf` is EXIF. */
const NEEDED = ['IHDR', 'PLTE', 'tRNS', 'IDAT', 'IEND', 'eXIf'];
const SIGNATURE_BYTES = 8;
/** Length, name and checksum of a chunk. */
const AROUND = 12;

/** A text chunk with XMP, uncompressed (flag and method 0), in no language: XMP specification, part 3 (2020), section 1.1.5. */
const XMP_TEXT = 'XML:com.adobe.xmp\0\0\0\0\0';

/** The packet of XMP in a PNG file; null where there is none, or a packed one. */
export function pngXmp(bytes: Uint8Array): Uint8Array | null {
  const view = viewOf(bytes);
  for (let at = SIGNATURE_BYTES; at + AROUND <= bytes.length; at += AROUND + view.getUint32(at)) {
    const data = at + 8;
    const end = data + view.getUint32(at);
    if (latin1(bytes, at + 4, data) === 'iTXt' && end <= bytes.length && latin1(bytes, data, data + XMP_TEXT.length) === XMP_TEXT) {
      return bytes.slice(data + XMP_TEXT.length, end);
    }
  }
  return null;
}

/**
 * A PNG file without the chunks that no frame needs: colour profiles, texts, animation. Some are compressed, and a few kilobytes of them
 * keep the decoder busy for minutes. The bytes are overwritten: the needed chunks are moved together in place. Source: PNG, third edition
 * (W3C 2025), sections 5.3 and 11.
 */
export function pngWithoutExtras(bytes: Uint8Array): Uint8Array {
  const view = viewOf(bytes);
  let [from, to] = [SIGNATURE_BYTES, SIGNATURE_BYTES];
  while (from + AROUND <= bytes.length) {
    const end = from + AROUND + view.getUint32(from);
    if (end > bytes.length) break;
    if (NEEDED.includes(latin1(bytes, from + 4, from + 8))) {
      if (to < from) bytes.copyWithin(to, from, end);
      to += end - from;
    }
    from = end;
  }
  // A file that is cut short stays so: the decoder reports it.
  if (to < from) bytes.copyWithin(to, from);
  return bytes.subarray(0, to + bytes.length - from);
}
