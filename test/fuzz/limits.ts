/** Beyond these an input has failed: two seconds up to half a megabyte, and four for each further one (see `Packing`). */
export const LONGEST_MS = 2000;
const SMALL_BYTES = 500_000;
const MS_A_BYTE = 0.004;
export const longestMs = (bytes: number): number => LONGEST_MS + MS_A_BYTE * Math.max(0, bytes - SMALL_BYTES);
export const MOST_BYTES = 2 ** 30;
