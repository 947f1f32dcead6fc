/** How quantised values were shifted before they were rounded. */
export type Dither = 'NO_DITHER' | 'SUBTRACTIVE_DITHER_1' | 'SUBTRACTIVE_DITHER_2';

export interface Quantisation {
  readonly scale: number;
  readonly zero: number;
  /** Stored integer that marks a pixel without a value; null for none. */
  readonly blank: number | null;
  readonly dither: Dither;
  /** Number of the tile (from 0) plus the header's seed (from 1), less one. */
  readonly tileSeed: number;
}

/** The stored integer that means exactly 0 in SUBTRACTIVE_DITHER_2. */
const EXACT_ZERO = -2147483646;
const RANDOM_COUNT = 10_000;
let table: Float32Array | null = null;

/**
 * Floating-point values of one tile from the integers they were quantised to: (stored - random + 0.5) × scale + zero, where the random
 * numbers are those the writer had added; without dither stored × scale + zero.
 * Source: FITS Standard 4.0 (2018), section 10.2 and appendix I (the numbers); Pence, White & Seaman 2010 (PASP 122, 1065).
 */
export function dequantise<T extends Float32Array | Float64Array>(stored: ArrayLike<number>, quantisation: Quantisation, into: T): T {
  const { scale, zero, blank, dither, tileSeed } = quantisation;
  if (dither === 'NO_DITHER') {
    for (let i = 0; i < into.length; i++) {
      const value = stored[i] as number;
      into[i] = value === blank ? NaN : value * scale + zero;
    }
    return into;
  }
  const random = (table ??= randomNumbers());
  let seed = tileSeed % RANDOM_COUNT;
  let next = Math.floor((random[seed] as number) * 500);
  for (let i = 0; i < into.length; i++) {
    const value = stored[i] as number;
    if (value === blank) into[i] = NaN;
    else if (value === EXACT_ZERO && dither === 'SUBTRACTIVE_DITHER_2') into[i] = 0;
    else into[i] = (value - (random[next] as number) + 0.5) * scale + zero;
    if (++next === RANDOM_COUNT) {
      if (++seed === RANDOM_COUNT) seed = 0;
      next = Math.floor((random[seed] as number) * 500);
    }
  }
  return into;
}

/** Park & Miller 1988 (CACM 31, 1192), as appendix I requires: the last of the 10,000 numbers comes from the seed 1043618065. */
function randomNumbers(): Float32Array {
  const numbers = new Float32Array(RANDOM_COUNT);
  let seed = 1;
  for (let i = 0; i < RANDOM_COUNT; i++) {
    seed = (16807 * seed) % 2147483647;
    numbers[i] = seed / 2147483647;
  }
  return numbers;
}
