/** Text and numbers from the bytes of a file, by means that browsers have too. */

/** True where the machine keeps the low byte of a number first, as nearly all do. */
export const LITTLE_ENDIAN = new Uint8Array(new Uint16Array([1]).buffer)[0] === 1;

/** Characters made in one call. */
const PIECE = 4096;
/** Longer texts are made faster by a decoder. */
const PIECE_BY_HAND = 64;
const UTF8 = new TextDecoder();

/** Bytes as the characters with the same codes (ISO 8859-1). TextDecoder's "latin1" is another code page in browsers. */
export function latin1(bytes: Uint8Array, from = 0, to = bytes.length): string {
  const end = Math.min(to, bytes.length);
  if (end - from > PIECE_BY_HAND && isAscii(bytes, from, end)) return UTF8.decode(bytes.subarray(from, end));
  let text = '';
  for (let at = from; at < end; at += PIECE) text += String.fromCharCode(...bytes.subarray(at, Math.min(at + PIECE, end)));
  return text;
}

function isAscii(bytes: Uint8Array, from: number, to: number): boolean {
  for (let at = from; at < to; at++) if ((bytes[at] as number) > 0x7f) return false;
  return true;
}

/** Numbers anywhere in the bytes; offsets count from the first of them. */
export function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** The first place of `pattern` (characters below U+0100, or bytes) from `from` on; -1 where there is none. */
export function indexOfBytes(bytes: Uint8Array, pattern: string | Uint8Array, from = 0): number {
  const wanted = typeof pattern === 'string' ? Uint8Array.from(pattern, (c) => c.charCodeAt(0)) : pattern;
  for (let at = bytes.indexOf(wanted[0] as number, from); at >= 0; at = bytes.indexOf(wanted[0] as number, at + 1)) {
    if (wanted.every((byte, i) => bytes[at + i] === byte)) return at;
  }
  return -1;
}
