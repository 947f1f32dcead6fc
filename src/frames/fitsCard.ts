import { printable } from '../printable.js';

/** Value of a header keyword; null where the card has none. Complex numbers are [real, imaginary]. */
export type FitsValue = string | number | boolean | readonly [number, number] | null;

/** Keyword (upper case, trimmed) to value, of one header or of a primary header with its extension's on top. */
export type FitsHeaders = ReadonlyMap<string, FitsValue>;

const COMMENTARY = new Set(['', 'COMMENT', 'HISTORY', 'CONTINUE', 'END', 'HIERARCH']);
const INTEGER_OR_REAL = /^[+-]?(\d+\.?\d*|\.\d+)([ED][+-]?\d+)?$/i;

/**
 * Keywords and values of header cards of 80 characters, up to END if there is one. Strings may contain slashes and doubled quotes and
 * continue over CONTINUE cards. Of a keyword given twice the first counts, as in astropy and cfitsio. A value that breaks the standard (an
 * unquoted date, for example: common, though wrong) is kept as the trimmed text. Characters that no card may contain (section 4.1.2.1)
 * become blanks: a card's text may be shown to a person. Source: FITS Standard 4.0 (2018), sections 4.1 to 4.2.
 */
export function parseCards(stored: readonly string[]): Map<string, FitsValue> {
  const headers = new Map<string, FitsValue>();
  const cards = stored.map((card) => printable(card));
  for (let i = 0; i < cards.length; i++) {
    const card = cards[i] ?? '';
    if (keywordOf(card) === 'END') break;
    const keyword = keywordOf(card).toUpperCase();
    if (COMMENTARY.has(keyword) || card.slice(8, 10) !== '= ') continue;
    const value = parseValue(card.slice(10));
    // Joined once, at the end: joined piece by piece, a header full of them takes minutes.
    const pieces = typeof value === 'string' ? [value] : [];
    while (pieces.at(-1)?.endsWith('&')) {
      const next = cards[i + 1] ?? '';
      if (keywordOf(next).toUpperCase() !== 'CONTINUE') break;
      const more = parseValue(next.slice(8));
      if (typeof more !== 'string') break;
      pieces.push((pieces.pop() as string).slice(0, -1), more);
      i++;
    }
    if (!headers.has(keyword)) headers.set(keyword, typeof value === 'string' ? pieces.join('') : value);
  }
  return headers;
}

/** The keyword of a card, without trailing spaces. */
export function keywordOf(card: string): string {
  return card.slice(0, 8).trimEnd();
}

/** The value in a card's value field (bytes 11 to 80, with the comment). */
export function parseValue(field: string): FitsValue {
  const text = field.trimStart();
  if (text.startsWith("'")) {
    const string = quoted(text);
    if (string !== null) return string;
  }
  const slash = text.indexOf('/');
  const bare = (slash < 0 ? text : text.slice(0, slash)).trim();
  if (bare === '') return null;
  if (bare === 'T') return true;
  if (bare === 'F') return false;
  if (INTEGER_OR_REAL.test(bare)) return Number(bare.replace(/d/i, 'E'));
  const pair = /^\(([^,]+),([^,]+)\)$/.exec(bare);
  if (pair) {
    const [real, imaginary] = [parseValue(pair[1] ?? ''), parseValue(pair[2] ?? '')];
    if (typeof real === 'number' && typeof imaginary === 'number') return [real, imaginary];
  }
  return bare;
}

/** The string that begins at the quote `text` starts with; trailing spaces don't count. Null where no quote ends it. */
function quoted(text: string): string | null {
  let string = '';
  for (let i = 1; i < text.length; i++) {
    if (text[i] !== "'") {
      string += text[i];
    } else if (text[i + 1] === "'") {
      string += "'";
      i++;
    } else {
      return string.replace(/ +$/, '');
    }
  }
  return null;
}
