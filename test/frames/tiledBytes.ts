import { card, dataBytes, headerBytes } from './fitsBytes.js';

/** Cells of a tile's row by column: bytes for variable-length ones, a number for scales. */
export type TileRow = Readonly<Record<string, Buffer | number>>;

/** A file whose second unit is a compressed picture with these tiles (FITS 4.0, section 10.1). Columns `wide` have 64-bit descriptors. */
export function tiledFile(bitpix: number, axes: readonly number[], rows: readonly TileRow[], more: readonly string[],
  wide = false): Buffer {
  const names = [...new Set(rows.flatMap((row) => Object.keys(row)))];
  const variable = (name: string): boolean => rows.some((row) => Buffer.isBuffer(row[name]));
  const heap: Buffer[] = [];
  let heapBytes = 0;
  const table = rows.map((row) => Buffer.concat(names.map((name) => {
    const cell = row[name];
    if (!variable(name)) {
      const number = Buffer.alloc(8);
      number.writeDoubleBE(typeof cell === 'number' ? cell : NaN);
      return number;
    }
    const bytes = Buffer.isBuffer(cell) ? cell : Buffer.alloc(0);
    const descriptor = Buffer.alloc(wide ? 16 : 8);
    if (wide) {
      descriptor.writeBigInt64BE(BigInt(bytes.length), 0);
      descriptor.writeBigInt64BE(BigInt(heapBytes), 8);
    } else {
      descriptor.writeInt32BE(bytes.length, 0);
      descriptor.writeInt32BE(heapBytes, 4);
    }
    heap.push(bytes);
    heapBytes += bytes.length;
    return descriptor;
  })));
  const cards = [
    card('XTENSION', "'BINTABLE'"), card('BITPIX', 8), card('NAXIS', 2), card('NAXIS1', table[0]?.length ?? 0), card('NAXIS2', rows.length),
    card('PCOUNT', heapBytes), card('GCOUNT', 1), card('TFIELDS', names.length),
    ...names.flatMap((name, i) => [card(`TTYPE${i + 1}`, `'${name}'`),
      card(`TFORM${i + 1}`, variable(name) ? `'1${wide ? 'Q' : 'P'}B(99)'` : "'1D'")]),
    card('ZIMAGE', true), card('ZBITPIX', bitpix), card('ZNAXIS', axes.length), ...axes.map((length, i) => card(`ZNAXIS${i + 1}`, length)),
      ...more,
  ];
  return Buffer.concat([
    headerBytes([card('SIMPLE', true), card('BITPIX', 8), card('NAXIS', 0)]), headerBytes(cards),
      dataBytes(Buffer.concat([...table, ...heap])),
  ]);
}
