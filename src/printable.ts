/** What could steer a terminal. */
const CONTROL = /\p{Cc}/gu;

/** Words that come from a file, as they can be shown: control characters as blanks, and no more than `most` characters. */
export function printable(text: string, most = Infinity): string {
  const plain = text.replace(CONTROL, ' ');
  return plain.length > most ? `${plain.slice(0, most)}…` : plain;
}
