/**
 * What XML 1.0 can't contain even escaped, or HTML calls an error (control characters, halves of surrogate pairs, noncharacters); written
 * as U+FFFD: one such character in a file name must not make the whole picture unreadable.
 */
const NOT_TEXT = /[^\t\n\r\u{20}-\u{7E}\u{A0}-\u{D7FF}\u{E000}-\u{FFFD}\u{10000}-\u{10FFFF}]|\p{Noncharacter_Code_Point}/gu;

/** Invisible characters that make words look like others: marks of direction, of zero width, of lines, blank letters. */
const UNSEEN = /[\p{Cf}\p{Zl}\p{Zp}\u115F\u1160\u3164\uFFA0]/gu;

const REFERENCES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Text as it is written in SVG and HTML, between tags and inside quoted attributes alike. */
export function escaped(text: string): string {
  return text.replace(NOT_TEXT, '\uFFFD').replace(UNSEEN, '\uFFFD').replace(/[&<>"']/g, (c) => REFERENCES[c]!);
}

/** A length or coordinate: at most `digits` decimals, no exponent, no "-0". */
export function coordinate(value: number, digits = 2): string {
  if (!Number.isFinite(value)) throw new RangeError(`${value} is no coordinate.`);
  const text = value.toFixed(digits).replace(/\.?0+$/, '');
  return digits > 0 ? (text === '-0' || text === '' ? '0' : text) : value.toFixed(0).replace(/^-0$/, '0');
}

/** Attributes of a tag; null leaves one out. Names are ours, values may be anything. */
export type Attributes = Readonly<Record<string, string | number | null>>;

/** An element of SVG or XHTML. `inside` is markup: text in it must have gone through {@link escaped}. */
export function element(name: string, attributes: Attributes, ...inside: readonly string[]): string {
  const written = Object.entries(attributes).filter(([, value]) => value !== null)
    .map(([key, value]) => ` ${key}="${typeof value === 'number' ? coordinate(value) : escaped(value!)}"`).join('');
  return inside.length === 0 ? `<${name}${written}/>` : `<${name}${written}>${inside.join('')}</${name}>`;
}
