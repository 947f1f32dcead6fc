/** A FITS card to write: keyword (up to 8 of A-Z, 0-9, - and _), value, comment; texts in ASCII. */
export type Card = readonly [keyword: string, value: string | number | boolean, comment?: string];

export const FITS_BLOCK = 2880;

/** A header as bytes, with END card and blanks up to a whole number of blocks. FITS Standard 4.0 (2018), sections 3.3 and 4.2. */
export function headerBytes(cards: readonly Card[]): Uint8Array {
  const text = cards.map(([keyword, value, comment]) => formatCard(keyword, value, comment)).join('') + 'END'.padEnd(80);
  const bytes = new Uint8Array(Math.ceil(text.length / FITS_BLOCK) * FITS_BLOCK).fill(0x20);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

/** One card of 80 characters in fixed format; a comment that is too long is cut. */
function formatCard(keyword: string, value: string | number | boolean, comment?: string): string {
  let text: string;
  if (typeof value === 'boolean') text = (value ? 'T' : 'F').padStart(20);
  else if (typeof value === 'number') text = formatNumber(value).padStart(20);
  else text = `'${value.replaceAll("'", "''").padEnd(8)}'`.padEnd(20);
  const card = `${keyword.padEnd(8)}= ${text}${comment ? ` / ${comment}` : ''}`;
  return card.slice(0, 80).padEnd(80);
}

function formatNumber(value: number): string {
  if (Number.isInteger(value) && Math.abs(value) < 1e15) return String(value);
  // JavaScript's shortest form, with the exponent in upper case, is a FITS real.
  const text = String(value).toUpperCase();
  return text.includes('.') || !text.includes('E') ? text : text.replace('E', '.0E');
}
