/**
 * A number as people write it: with a decimal point, or a decimal comma ("39,2"). NaN for anything else, and for a comma that may separate
 * thousands ("1,200").
 */
export function decimalNumber(text: string): number {
  const plain = text.trim().replace('\u2212', '-');
  if (/^[+-]?[1-9]\d{0,2},\d{3}$/.test(plain)) return NaN;
  return plain === '' ? NaN : Number(withPoint(plain));
}

/** The text with its only comma between digits replaced by a point: in an angle a comma can't separate thousands. */
export function withPoint(text: string): string {
  return text.includes('.') || text.split(',').length !== 2 ? text : text.replace(/(\d),(\d)/, '$1.$2');
}
