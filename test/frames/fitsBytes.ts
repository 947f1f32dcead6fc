/** A header card of 80 characters with the value as it is to stand in the file. */
export function card(keyword: string, value: string | number | boolean): string {
  const text = typeof value === 'boolean' ? (value ? 'T' : 'F') : String(value);
  return `${keyword.padEnd(8)}= ${typeof value === 'string' ? text : text.padStart(20)}`.padEnd(80);
}

/** A header in whole blocks, END included. */
export function headerBytes(cards: readonly string[]): Buffer {
  const text = [...cards.map((c) => c.padEnd(80)), 'END'.padEnd(80)].join('');
  return Buffer.from(text.padEnd(Math.ceil(text.length / 2880) * 2880), 'latin1');
}

/** Data padded with zeros to whole blocks. */
export function dataBytes(data: Buffer): Buffer {
  return Buffer.concat([data, Buffer.alloc((2880 - (data.length % 2880)) % 2880)]);
}

/** The cards a primary header must begin with. */
export function imageCards(bitpix: number, ...axes: number[]): string[] {
  return [card('SIMPLE', true), card('BITPIX', bitpix), card('NAXIS', axes.length), ...axes.map((n, i) => card(`NAXIS${i + 1}`, n))];
}

/** A file of one picture with `more` cards in its header. */
export function fitsFile(bitpix: number, axes: readonly number[], data: Buffer, more: readonly string[] = []): Buffer {
  return Buffer.concat([headerBytes([...imageCards(bitpix, ...axes), ...more]), dataBytes(data)]);
}
