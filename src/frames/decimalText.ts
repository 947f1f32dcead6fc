/**
 * A number as people write it: with a decimal point, or a comma for it ("39,2"). NaN for anything else, and for a comma that may as well
 * stand between thousands ("1,200").
 */
export function decimalNumber(text: string): number {
  const plain = text.trim().replace('\u2212', '-');
  if (/^[+-]?[1-9]\d{0,2},\d{3}$/.test(plain)) return NaN;
  return plain === '' ? NaN : Number(withPoint(plain));
}

/** The same with the only comma between digits made a point: of an angle no comma can stand between thousands. */
export function withPoint(text: string): string {
  return text.includes('.') || text.split(',').length !== 2 ? text : text.replace(/(\d),(\d)/, '$1.$2');
}
