import { latin1, viewOf } from './bytes.js';

/** One entry of a directory. Nothing is read before it is asked for, so that a damaged count costs nothing. */
export interface TiffEntry {
  /** The number of values it claims, no more than the file has room for. */
  readonly count: number;
  /**
   * Value number `index`; a fraction with a denominator of 0 is NaN or infinite; null for texts, unknown types and beyond the end of the
   * file.
   */
  number(index: number): number | null;
  /** Its bytes as characters, without the NULs that end a text; at most `most` of them. */
  text(most?: number): string | null;
  /** Its bytes; null where they lie beyond the end of the file. */
  bytes(): Uint8Array | null;
}

/** Entries by their tags; of a tag given twice the last counts. */
export type TiffEntries = ReadonlyMap<number, TiffEntry>;

export interface TiffDirectory {
  readonly entries: TiffEntries;
  /** Where the next directory begins; 0 for none. */
  readonly next: number;
}

export interface TiffStructure {
  /** Where the first directory begins. Offsets count from the start of the bytes given. */
  readonly first: number;
  /** The directory there; null where its entries don't fit in the file. */
  directory(at: number): TiffDirectory | null;
}

const ASCII = 2;
const UNDEFINED = 7;
/** Bytes of a value by its type; for types that TIFF 6.0 does not define, 4. */
const SIZES = [4, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8];
/** Longer texts are cut. */
const LONGEST_TEXT = 1000;

/**
 * The directories of bytes with TIFF structure: EXIF, TIFF and many camera raws. Null where they don't begin like that. Source: TIFF 6.0
 * (1992), section 2.
 */
export function tiffStructure(bytes: Uint8Array): TiffStructure | null {
  const order = latin1(bytes, 0, 2);
  if ((order !== 'II' && order !== 'MM') || bytes.length < 8) return null;
  const little = order === 'II';
  const view = viewOf(bytes);
  if (view.getUint16(2, little) !== 42) return null;
  const short = (at: number): number => view.getUint16(at, little);
  const long = (at: number): number => view.getUint32(at, little);

  const valueAt = (type: number, at: number): number | null => {
    switch (type) {
      case 1: case UNDEFINED: return view.getUint8(at);
      case ASCII: return null;
      case 3: return short(at);
      case 5: return long(at) / long(at + 4);
      case 6: return view.getInt8(at);
      case 8: return view.getInt16(at, little);
      case 9: return view.getInt32(at, little);
      case 10: return view.getInt32(at, little) / view.getInt32(at + 4, little);
      case 11: return view.getFloat32(at, little);
      case 12: return view.getFloat64(at, little);
      default: return long(at);
    }
  };
  const entryAt = (entry: number): TiffEntry => {
    const type = short(entry + 2);
    const size = SIZES[type] ?? 4;
    // A count larger than the file is an error.
    const count = Math.min(long(entry + 4), Math.floor(bytes.length / size));
    const list = count * size <= 4 ? entry + 8 : long(entry + 8);
    return {
      count,
      number(index) {
        const at = list + index * size;
        return index >= count || at + size > bytes.length ? null : valueAt(type, at);
      },
      text(most = LONGEST_TEXT) {
        if (type !== ASCII && type !== UNDEFINED) return null;
        return latin1(bytes, list, list + Math.min(count, most)).replace(/\0+$/, '');
      },
      bytes: () => (list + count * size > bytes.length ? null : bytes.subarray(list, list + count * size)),
    };
  };
  return {
    first: long(4),
    directory(at) {
      if (at < 8 || at + 2 > bytes.length) return null;
      const end = at + 2 + 12 * short(at);
      if (end > bytes.length) return null;
      const entries = new Map<number, TiffEntry>();
      for (let entry = at + 2; entry < end; entry += 12) entries.set(short(entry), entryAt(entry));
      return { entries, next: end + 4 <= bytes.length ? long(end) : 0 };
    },
  };
}
