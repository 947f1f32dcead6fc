import { encode } from 'uqr';

/**
 * A QR code (ISO/IEC 18004) in half blocks for a terminal with a dark background: light modules are drawn, dark ones left black,
 * so that it has the polarity the standard asks for and lights up no more than it must. Four modules of quiet zone, as it says.
 */
export function qrText(text: string): string {
  const { data, size } = encode(text, { border: 4, ecc: 'L' });
  const light = (x: number, y: number): boolean => y < size && !data[y]![x]!;
  const lines: string[] = [];
  for (let y = 0; y < size; y += 2) {
    lines.push(Array.from({ length: size }, (_, x) => ' ▀▄█'[(light(x, y) ? 1 : 0) + (light(x, y + 1) ? 2 : 0)]!).join(''));
  }
  return lines.join('\n');
}
