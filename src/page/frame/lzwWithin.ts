/** Codes of TIFF's LZW with a meaning of their own, the first free one, and the most bits of a code (TIFF 6.0, section 13). */
const [CLEAR, END, FIRST, MOST_BITS] = [256, 257, 258, 12];

/**
 * Whether bytes packed by TIFF's LZW are sound and unpack to no more than so many. Checked before a library unpacks them, which takes
 * seconds over codes without meaning.
 */
export function lzwWithin(packed: Uint8Array, mostBytes: number): boolean {
  const lengths = new Uint16Array(2 ** MOST_BITS + 1).fill(1, 0, CLEAR);
  let [next, bits, before, total] = [FIRST, 9, 0, 0];
  let [held, count] = [0, 0];
  for (const byte of packed) {
    held = ((held << 8) | byte) & 0xffffff;
    count += 8;
    if (count < bits) continue;
    count -= bits;
    const code = (held >> count) & (2 ** bits - 1);
    if (code === END) return true;
    if (code === CLEAR) {
      [next, bits, before] = [FIRST, 9, 0];
      continue;
    }
    if (code > next || (before === 0 && code >= CLEAR)) return false;
    const length = code === next ? before + 1 : lengths[code]!;
    if (before > 0 && next < 2 ** MOST_BITS) lengths[next++] = before + 1;
    // The width grows one code early.
    if (next >= 2 ** bits - 1 && bits < MOST_BITS) bits++;
    before = length;
    total += length;
    if (total > mostBytes) return false;
  }
  return true;
}
