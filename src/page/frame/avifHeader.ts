import { indexOfBytes, latin1, viewOf } from '../../frames/bytes.js';
import type { PictureHeader } from './pictureHeader.js';

/** A box of the ISO base media file format: its content's place in the bytes. */
interface Box {
  readonly name: string;
  readonly from: number;
  readonly to: number;
}

/** More boxes or items than a picture has. */
const MOST = 1000;

/**
 * The head of an AVIF or HEIF file: size, EXIF and XMP. The browser is told to leave its colours alone, so that its plain form is itself.
 * Throws where it names no size. Source: ISO/IEC 14496-12 (boxes, `iinf`, `iloc`) and 23008-12 (`ispe`, Exif items).
 */
export function avifHeader(bytes: Uint8Array): PictureHeader {
  const meta = boxes(bytes, 0, bytes.length).find(({ name }) => name === 'meta');
  const inner = meta ? boxes(bytes, meta.from + 4, meta.to) : [];
  const size = largestSize(bytes, inner);
  if (!size) throw new Error('no size');
  const items = itemsOf(bytes, inner);
  const exif = items('Exif');
  return {
    ...size, channels: 3, inPasses: false, otherColours: null, plain: bytes, xmp: items('mime'),
    // The first four bytes say how many come before the TIFF structure.
    exif: exif && exif.length > 4 ? exif.subarray(Math.min(exif.length, 4 + viewOf(exif).getUint32(0))) : null,
  };
}

function largestSize(bytes: Uint8Array, inner: readonly Box[]): { width: number; height: number } | null {
  const properties = inner.find(({ name }) => name === 'iprp');
  const end = properties?.to ?? bytes.length;
  const view = viewOf(bytes);
  let best: { width: number; height: number } | null = null;
  for (let at = indexOfBytes(bytes, 'ispe', properties?.from ?? 0), n = 0; at >= 0 && at + 16 <= end && n < MOST; n++) {
    const [width, height] = [view.getUint32(at + 8), view.getUint32(at + 12)];
    if (!best || width * height > best.width * best.height) best = { width, height };
    at = indexOfBytes(bytes, 'ispe', at + 4);
  }
  return best;
}

function boxes(bytes: Uint8Array, from: number, to: number): Box[] {
  const view = viewOf(bytes);
  const found: Box[] = [];
  for (let at = from; at + 8 <= to && found.length < MOST;) {
    const length = view.getUint32(at);
    const end = length === 0 ? to : at + length;
    if (length === 1 || end < at + 8 || end > to) break;
    found.push({ name: latin1(bytes, at + 4, at + 8), from: at + 8, to: end });
    at = end;
  }
  return found;
}

/** The content of the first item of a type that lies in one piece of the file. */
function itemsOf(bytes: Uint8Array, inner: readonly Box[]): (type: string) => Uint8Array | null {
  const infos = inner.find(({ name }) => name === 'iinf');
  const places = inner.find(({ name }) => name === 'iloc');
  if (!infos || !places) return () => null;
  const view = viewOf(bytes);
  const ids = new Map<string, number>();
  const first = infos.from + 4 + (bytes[infos.from] === 0 ? 2 : 4);
  for (const { name, from, to } of boxes(bytes, first, infos.to)) {
    const wide = bytes[from] === 3;
    const type = from + 4 + (wide ? 4 : 2) + 2;
    if (name !== 'infe' || type + 4 > to || bytes[from]! < 2) continue;
    const key = latin1(bytes, type, type + 4);
    if (!ids.has(key)) ids.set(key, wide ? view.getUint32(from + 4) : view.getUint16(from + 4));
  }
  return (type) => {
    const id = ids.get(type);
    return id === undefined ? null : placeOf(bytes, places, id);
  };
}

function placeOf(bytes: Uint8Array, { from, to }: Box, wanted: number): Uint8Array | null {
  const view = viewOf(bytes);
  const version = bytes[from]!;
  const [offsetSize, lengthSize] = [bytes[from + 4]! >> 4, bytes[from + 4]! & 15];
  const [baseSize, indexSize] = [bytes[from + 5]! >> 4, version > 0 ? bytes[from + 5]! & 15 : 0];
  let at = from + 6;
  const number = (size: number): number => {
    if (at + size > to) return NaN;
    const value = size === 4 ? view.getUint32(at) : size === 8 ? view.getUint32(at) * 2 ** 32 + view.getUint32(at + 4)
      : size === 2 ? view.getUint16(at) : 0;
    at += size;
    return value;
  };
  const count = number(version < 2 ? 2 : 4);
  for (let n = 0; n < Math.min(count, MOST); n++) {
    const id = number(version < 2 ? 2 : 4);
    const inFile = version === 0 || (number(2) & 15) === 0;
    number(2);
    const base = number(baseSize);
    const extents = number(2);
    let [start, length] = [0, 0];
    for (let e = 0; e < Math.min(extents, MOST); e++) {
      number(indexSize);
      const [offset, size] = [number(offsetSize), number(lengthSize)];
      if (e === 0) [start, length] = [base + offset, size];
    }
    if (id === wanted) return inFile && extents === 1 && start + length <= bytes.length ? bytes.subarray(start, start + length) : null;
  }
  return null;
}
