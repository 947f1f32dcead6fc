/** Beyond these an input has failed. */
export const LONGEST_MS = 2000;
export const MOST_BYTES = 2 ** 30;
