/** What TIMESYS names: a scale with a fixed relation to UTC, or a clock whose zone the file does not give. */
export type TimeScale = 'UTC' | 'TAI' | 'TT' | 'GPS' | 'unzoned';

/** TAI - UTC in seconds from a day on. Source: IERS Bulletin C (as in ERFA's eraDat). Before 1972 UTC drifted; frames are younger. */
const LEAPS: readonly (readonly [day: string, seconds: number])[] = [
  ['1972-01-01', 10], ['1972-07-01', 11], ['1973-01-01', 12], ['1974-01-01', 13], ['1975-01-01', 14], ['1976-01-01', 15],
  ['1977-01-01', 16], ['1978-01-01', 17], ['1979-01-01', 18], ['1980-01-01', 19], ['1981-07-01', 20], ['1982-07-01', 21],
  ['1983-07-01', 22], ['1985-07-01', 23], ['1988-01-01', 24], ['1990-01-01', 25], ['1991-01-01', 26], ['1992-07-01', 27],
  ['1993-07-01', 28], ['1994-07-01', 29], ['1996-01-01', 30], ['1997-07-01', 31], ['1999-01-01', 32], ['2006-01-01', 33],
  ['2009-01-01', 34], ['2012-07-01', 35], ['2015-07-01', 36], ['2017-01-01', 37],
];

/**
 * The scale a TIMESYS value names (FITS Standard 4.0, table 30). UT1 is used as UTC: they differ by less than 0.9 s; TDB as TT: 2 ms. A
 * realization in brackets, "TT(TAI)", is ignored.
 */
export function timeScaleNamed(name: string): TimeScale {
  const plain = name.trim().toUpperCase().replace(/\(.*\)$/, '');
  if (['', 'UTC', 'UT', 'UT1', 'GMT'].includes(plain)) return 'UTC';
  if (['TAI', 'IAT'].includes(plain)) return 'TAI';
  if (['TT', 'TDT', 'ET', 'TDB'].includes(plain)) return 'TT';
  return plain === 'GPS' ? 'GPS' : 'unzoned';
}

/** UTC, milliseconds since 1970, of a time in some scale (same form). */
export function toUtc(clock: number, scale: Exclude<TimeScale, 'unzoned'>): number {
  if (scale === 'UTC') return clock;
  const tai = clock + { TAI: 0, TT: -32184, GPS: 19000 }[scale];
  let utc = tai;
  for (const [day, seconds] of LEAPS) {
    const candidate = tai - seconds * 1000;
    if (candidate >= Date.parse(`${day}T00:00:00Z`)) utc = candidate;
  }
  return utc;
}
