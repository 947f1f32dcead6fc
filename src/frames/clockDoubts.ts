/** A clock set to a wrong zone is wrong by a multiple of this (IANA tz database: zones today differ by quarters of an hour). */
const QUARTER_MS = 15 * 60_000;
const DAY_MS = 86_400_000;
/** How near a difference must be to such a multiple, milliseconds. */
const NEAR_MS = 2 * 60_000;

/** The offset from UTC, minutes, that explains this difference of two clocks; null where no zone does. */
export function zoneOf(differenceMs: number): number | null {
  const quarters = Math.round(differenceMs / QUARTER_MS);
  const minutes = quarters * 15;
  return Math.abs(differenceMs - quarters * QUARTER_MS) <= NEAR_MS && minutes >= -12 * 60 && minutes <= 14 * 60 ? minutes : null;
}

/** The difference between two times of day, the date ignored: -12 h to 12 h. */
export function withinDay(differenceMs: number): number {
  return differenceMs - Math.round(differenceMs / DAY_MS) * DAY_MS;
}

/** "+05:30", as options take it. */
export function offsetWords(minutes: number): string {
  const two = (n: number): string => String(n).padStart(2, '0');
  const most = Math.abs(minutes);
  return `${minutes < 0 ? '-' : '+'}${two(Math.floor(most / 60))}:${two(most % 60)}`;
}

/** "1 h", "23 h 55 min", "12 min", "40 s": no sign. */
export function apartWords(differenceMs: number): string {
  const seconds = Math.round(Math.abs(differenceMs) / 1000);
  if (seconds < 120) return `${seconds} s`;
  const minutes = Math.round(seconds / 60);
  const [hours, rest] = [Math.floor(minutes / 60), minutes % 60];
  return hours === 0 ? `${rest} min` : rest === 0 ? `${hours} h` : `${hours} h ${rest} min`;
}

/** What a difference between two clocks that should agree points to. Empty where it points to nothing known. */
export function looksLike(differenceMs: number): string {
  const size = Math.abs(differenceMs);
  if (Math.abs(size - DAY_MS) <= NEAR_MS) return ' A date that did not change at midnight does that.';
  const zone = zoneOf(differenceMs);
  return zone !== null && zone !== 0 ? ' Local time written as UTC does that, or daylight saving.' : '';
}

/** "2026-11-25 19:30:00" of milliseconds since 1970. */
export function clockWords(ms: number): string {
  return new Date(Math.round(ms / 1000) * 1000).toISOString().slice(0, 19).replace('T', ' ');
}
