import type { ClockMs } from './dateText.js';

/**
 * The zone of a camera's clock: minutes east of UTC, or a name of the IANA time-zone database ("Europe/Madrid"), whose offset depends on
 * the date.
 */
export type CameraZone = number | string;

/** The same with its source (an option, a rig file), where that is known. */
export type SaidZone = CameraZone | { readonly zone: CameraZone; readonly from: string };

/** Minutes east of UTC when a clock showed something. */
export type ZoneOffset =
  | { readonly minutes: number }
  /** The clock showed it twice (set back in autumn), or never (set forward in spring): the offsets before and after. */
  | { readonly shown: 'twice' | 'never'; readonly before: number; readonly after: number };

const DAY_MS = 86_400_000;

/** The offset from UTC in a zone when its clocks showed `clock`; a zone by name must be {@link isZoneName}. */
export function zoneOffset(zone: CameraZone, clock: ClockMs): ZoneOffset {
  if (typeof zone === 'number') return { minutes: zone };
  // No zone changes its clocks twice in two days (IANA tz database).
  const [before, after] = [minutesAt(zone, clock - DAY_MS), minutesAt(zone, clock + DAY_MS)];
  const [first, ...more] = [...new Set([before, after])].filter((minutes) => minutesAt(zone, clock - minutes * 60_000) === minutes);
  if (first === undefined) return { shown: 'never', before, after };
  return more.length > 0 ? { shown: 'twice', before, after } : { minutes: first };
}

/**
 * Whether the platform's time-zone data holds a name. Only names with a slash count, such as Europe/Madrid, and UTC: abbreviations mean
 * several zones.
 */
export function isZoneName(name: string): boolean {
  if (!/^(UTC|[A-Za-z]+\/[A-Za-z0-9_+\-/]+)$/i.test(name)) return false;
  try {
    clockIn(name);
    return true;
  } catch {
    return false;
  }
}

/** Minutes east of UTC in a zone at a moment, ms since 1970. */
export function minutesAt(name: string, utc: number): number {
  const parts = new Map(clockIn(name).formatToParts(utc).map(({ type, value }) => [type, Number(value)]));
  const part = (name: Intl.DateTimeFormatPartTypes): number => parts.get(name)!;
  const shown = Date.UTC(part('year'), part('month') - 1, part('day'), part('hour'), part('minute'), part('second'));
  return Math.round((shown - Math.floor(utc / 1000) * 1000) / 60_000);
}

function clockIn(name: string): Intl.DateTimeFormat {
  return new Intl.DateTimeFormat('en-US', {
    timeZone: name, hourCycle: 'h23',
    year: 'numeric', month: 'numeric', day: 'numeric', hour: 'numeric', minute: 'numeric', second: 'numeric',
  });
}
