import { viewOf } from './bytes.js';
import type { FitsHeaders } from './fitsCard.js';
import { damaged, integer, truncated } from './fitsHdu.js';

/** Bytes of one element by the letter of its type (FITS 4.0, table 18). */
const ELEMENT_BYTES: Readonly<Record<string, number>> = {
  L: 1, B: 1, I: 2, J: 4, K: 8, A: 1, E: 4, D: 8, C: 8, M: 16, P: 8, Q: 16,
};

interface Column {
  readonly offset: number;
  readonly repeat: number;
  readonly type: string;
  /** Type of what a descriptor (type P, Q) points at; else ''. */
  readonly elementType: string;
}

/** A binary table: its fixed rows and the heap behind them. */
export interface FitsTable {
  readonly rows: number;
  has(name: string): boolean;
  /** The number in a column of single numbers; null where there is no such column. */
  number(name: string, row: number): number | null;
  /** What a variable-length cell points at; null where there is no such column or nothing in the cell. */
  cell(name: string, row: number): { readonly bytes: Uint8Array; readonly elementBytes: number } | null;
}

/**
 * A binary table by its columns' names. Throws `not-an-image` where its header contradicts itself. Reading a cell throws `file-truncated`
 * where it points beyond the heap, and `not-an-image` where more was read than the heap has: each cell is read once. Source: FITS Standard
 * 4.0 (2018), sections 7.3.1 to 7.3.5.
 */
export function fitsTable(headers: FitsHeaders, data: Uint8Array, file: string): FitsTable {
  const rowBytes = integer(headers, 'NAXIS1', file);
  const rows = integer(headers, 'NAXIS2', file);
  const columns = new Map<string, Column>();
  let offset = 0;
  for (let n = 1; n <= Math.min(integer(headers, 'TFIELDS', file), 999); n++) {
    const form = /^\s*(\d*)([LXBIJKAEDCMPQ])([LXBIJKAEDCM]?)/.exec(String(headers.get(`TFORM${n}`) ?? ''));
    if (!form) throw damaged(file, `TFORM${n} is none that FITS knows`);
    const repeat = form[1] === '' ? 1 : Number(form[1]);
    const type = form[2] as string;
    columns.set(String(headers.get(`TTYPE${n}`) ?? '').trim().toUpperCase(), { offset, repeat, type, elementType: form[3] as string });
    offset += type === 'X' ? Math.ceil(repeat / 8) : repeat * (ELEMENT_BYTES[type] as number);
  }
  if (offset > rowBytes) throw damaged(file, `its columns take ${offset} bytes a row where NAXIS1 says ${rowBytes}`);
  const heapAt = headers.has('THEAP') ? integer(headers, 'THEAP', file) : rowBytes * rows;
  const heap = data.subarray(Math.max(0, Math.min(heapAt, data.length)));
  let unread = heap.length;
  const view = viewOf(data);

  return {
    rows,
    has: (name) => columns.has(name),
    number(name, row) {
      const column = columns.get(name);
      if (!column || column.repeat < 1) return null;
      const at = row * rowBytes + column.offset;
      switch (column.type) {
        case 'B': return view.getUint8(at);
        case 'I': return view.getInt16(at);
        case 'J': return view.getInt32(at);
        case 'K': return Number(view.getBigInt64(at));
        case 'E': return view.getFloat32(at);
        case 'D': return view.getFloat64(at);
        default: return null;
      }
    },
    cell(name, row) {
      const column = columns.get(name);
      if (!column || column.repeat < 1 || (column.type !== 'P' && column.type !== 'Q')) return null;
      const at = row * rowBytes + column.offset;
      const [count, start] = column.type === 'P'
        ? [view.getInt32(at), view.getInt32(at + 4)]
        : [Number(view.getBigInt64(at)), Number(view.getBigInt64(at + 8))];
      if (count === 0) return null;
      const elementBytes = ELEMENT_BYTES[column.elementType] ?? 1;
      const end = start + count * elementBytes;
      if (count < 0 || start < 0 || end > heap.length) {
        throw truncated(file, `has a compressed table whose row ${row + 1} points beyond its end`);
      }
      unread -= end - start;
      if (unread < 0) throw damaged(file, 'the cells of its compressed table overlap');
      return { bytes: heap.subarray(start, end), elementBytes };
    },
  };
}
