/** Milliseconds since 1970-01-01T00:00 on some clock, without leap seconds; the caller knows which clock. */
export type ClockMs = number;

const DATE = /^(\d{4})-(\d{2})-(\d{2})$/;
const OLD_DATE = /^(\d{2})\/(\d{2})\/(\d{2})$/;
const TIME = /^(\d{1,2}):(\d{2}):(\d{2}(?:\.\d*)?)$/;
const ZONE = /(Z|[+-]\d{2}:?\d{2})$/i;

/**
 * Reads a FITS date with time ("2026-11-25T19:30:00.25"; a space instead of T is accepted), with the zone if one follows ("Z", "+01:00":
 * not in the FITS standard, but found in files). `offsetMinutes` is the zone's, null where none is given. Null for anything else and for
 * dates that don't exist. Years 1900 to 2199. Source: FITS Standard 4.0 (2018), section 9.1.1.
 */
export function parseDateTime(text: string): { clock: ClockMs; offsetMinutes: number | null } | null {
  const [date, rest, ...more] = text.trim().split(/[T ]/i);
  if (date === undefined || rest === undefined || more.length > 0) return null;
  const zone = ZONE.exec(rest)?.[1];
  const day = parseDay(date);
  const time = parseTime(zone === undefined ? rest : rest.slice(0, -zone.length));
  if (day === null || time === null) return null;
  const offsetMinutes = zone === undefined ? null : zoneMinutes(zone);
  return zone !== undefined && offsetMinutes === null ? null : { clock: day + time, offsetMinutes };
}

/** The midnight at which a day begins: "2026-11-25", or in the form used before 2000, "25/11/98". Null where there is no such day. */
export function parseDay(text: string): ClockMs | null {
  const modern = DATE.exec(text.trim());
  if (modern) return dayClock(Number(modern[1]), Number(modern[2]), Number(modern[3]));
  const old = OLD_DATE.exec(text.trim());
  return old ? dayClock(1900 + Number(old[3]), Number(old[2]), Number(old[1])) : null;
}

/** Milliseconds since midnight of "19:30:00.25". A leap second (60) is accepted. */
export function parseTime(text: string): number | null {
  const match = TIME.exec(text.trim());
  if (!match) return null;
  const [hours, minutes, seconds] = [Number(match[1]), Number(match[2]), Number(match[3])];
  if (hours > 23 || minutes > 59 || seconds >= 61) return null;
  return (hours * 3600 + minutes * 60 + seconds) * 1000;
}

/** Minutes east of UTC of "Z", "+01:00", "-0530". Null for anything else, and beyond ±14 h, where there is no zone (IANA tz database). */
export function zoneMinutes(text: string): number | null {
  if (/^Z$/i.test(text.trim())) return 0;
  const match = /^([+-])(\d{2}):?(\d{2})$/.exec(text.trim());
  if (!match) return null;
  const minutes = Number(match[2]) * 60 + Number(match[3]);
  if (Number(match[3]) > 59 || minutes > 14 * 60) return null;
  return match[1] === '-' ? -minutes : minutes;
}

/**
 * Minutes east of UTC as a person writes them: "+1", "+01", "+0100", "+01:00", "Z", "UTC"; null for anything else, and beyond ±14 h. Files
 * use one form, which {@link zoneMinutes} reads.
 */
export function writtenZone(text: string): number | null {
  const plain = text.trim().replace('\u2212', '-');
  if (/^UTC$/i.test(plain)) return 0;
  const match = /^([+-])(\d{1,2})(?::?(\d{2}))?$/.exec(plain);
  return zoneMinutes(match ? `${match[1]}${match[2]!.padStart(2, '0')}:${match[3] ?? '00'}` : plain);
}

function dayClock(year: number, month: number, day: number): ClockMs | null {
  if (year < 1900 || year > 2199) return null;
  const clock = new Date(Date.UTC(year, month - 1, day));
  return clock.getUTCMonth() === month - 1 && clock.getUTCDate() === day ? clock.getTime() : null;
}
