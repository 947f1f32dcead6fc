/** What could steer a terminal: control characters, and the ends of lines and paragraphs. */
const CONTROL = /[\p{Cc}\p{Zl}\p{Zp}]/gu;
/**
 * What is not seen and makes words look like others: marks of direction and of zero width (format characters), halves of characters, and
 * letters that are blank.
 */
const UNSEEN = /[\p{Cf}\p{Cs}\u115F\u1160\u3164\uFFA0]/gu;
/** Unicode's sign for a character that can't be shown. */
const UNKNOWN = '\uFFFD';

/**
 * Words that come from outside (a file, its name, its header), as they can be shown: control characters as blanks, unseen ones as a sign
 * that something is there, and no more than `most` characters.
 */
export function printable(text: string, most = Infinity): string {
  const plain = text.replace(CONTROL, ' ').replace(UNSEEN, UNKNOWN);
  if (plain.length <= most) return plain;
  // Not between the halves of a character.
  return `${plain.slice(0, most).replace(/[\uD800-\uDBFF]$/, '')}…`;
}
