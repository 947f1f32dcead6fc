import type { SaidZone } from './cameraZone.js';
import { apartWords, clockWords, looksLike, offsetWords, withinDay, zoneOf } from './clockDoubts.js';
import { type ClockMs, parseDay, parseTime, zoneMinutes } from './dateText.js';
import { type ExifTags, GPS, PHOTO, textOf } from './exifTags.js';
import type { Sourced } from './frame.js';
import type { TiffEntries } from './tiffDirectory.js';
import type { XmpReading } from './xmp.js';
import { givenOffset } from './zoneGiven.js';

export interface ExifTime {
  readonly midExposure: Sourced<Date> | null;
  readonly unzonedClock?: Sourced<ClockMs>;
  readonly utcOffsetMinutes?: Sourced<number>;
  readonly overruledZoneMinutes?: Sourced<number>;
  readonly clockDoubts?: readonly string[];
}

/** Tags of the camera's clock with those of its offset and fraction: in a digital camera both times are the same. */
const CLOCKS = [
  ['DateTimeOriginal', 'OffsetTimeOriginal', 'SubSecTimeOriginal'],
  ['DateTimeDigitized', 'OffsetTimeDigitized', 'SubSecTimeDigitized'],
] as const;
/** The satellites' time is that of the last fix; a difference from the camera's up to this is not reported, milliseconds. */
const FIX_MS = 60_000;
/** A difference up to this is not a warning: a fix may be old. */
const OLD_FIX_MS = 13 * 60_000;

/** The time that a clock of the camera showed. */
interface ClockReading {
  readonly clock: ClockMs;
  /** "EXIF DateTimeOriginal" */
  readonly from: string;
  /** Its zone, where the picture gives it. */
  readonly zone: Sourced<number> | null;
}

/**
 * Middle of the exposure by the camera's clock: of EXIF, else of XMP. A zone that the person gave is used before the picture's own. The
 * time of the satellites is only compared with it.
 */
export function exifTime(
  { photo, gps }: Pick<ExifTags, 'photo' | 'gps'>,
  xmp: XmpReading | null,
  exposure: Sourced<number> | null,
  given: SaidZone | null,
  remarks: string[],
): ExifTime {
  const reading = readingOf(photo, xmp, remarks);
  if (reading === null) return { midExposure: null };
  const { clock, zone, from: clockFrom } = reading;
  const asked = given === null ? null : givenOffset(given, clock, clockFrom);
  if (asked !== null && 'problem' in asked && zone === null) {
    remarks.push(asked.problem);
    return { midExposure: null };
  }
  // The picture's own zone shows which of two it was.
  const byPerson = asked !== null && 'minutes' in asked ? asked : null;
  const offset = byPerson?.minutes ?? zone?.value ?? null;
  const satellites = satelliteTime(gps, clock - (offset ?? 0) * 60_000, offset === null);
  if (offset === null) {
    const shown = satellites === null ? null : zoneOf(clock - satellites);
    const hint = shown === null ? '' : ` By its GPS time that is ${offsetWords(shown)}.`;
    remarks.push(`${clockFrom} was ignored: it does not say its offset from UTC. Give the zone the camera clock was set to.${hint}`);
    return { midExposure: null, unzonedClock: { value: clock, from: clockFrom } };
  }
  const overruled = zone !== null && zone.value !== offset ? zone : null;
  if (overruled) remarks.push(`${overruled.from} (${offsetWords(overruled.value)}) was overruled by the zone given.`);
  const offsetFrom = byPerson?.from ?? zone!.from;
  const startMs = clock - offset * 60_000;
  const doubts = satellites === null
    ? []
    : satelliteDoubts(startMs - satellites, (exposure?.value ?? 0) * 1000, offset, satellites, remarks);
  let from = offsetFrom === clockFrom ? clockFrom : `${clockFrom} and ${offsetFrom.replace('EXIF ', '')}`;
  if (exposure === null) remarks.push(`The exposure is unknown, so ${clockFrom} is taken as its middle.`);
  else from += ' + half the exposure';
  return {
    midExposure: { value: new Date(startMs + (exposure?.value ?? 0) * 500), from },
    utcOffsetMinutes: { value: offset, from: offsetFrom },
    ...(overruled ? { overruledZoneMinutes: overruled } : {}),
    ...(doubts.length > 0 ? { clockDoubts: doubts } : {}),
  };
}

/** How far apart the two may be and still be one time of one clock, milliseconds: XMP may leave the fraction out. */
const SAME_MOMENT_MS = 1000;

function readingOf(photo: TiffEntries, xmp: XmpReading | null, remarks: string[]): ClockReading | null {
  const own = exifReading(photo, remarks);
  const other = xmp === null ? null : { ...xmp, zone: xmp.offsetMinutes === null ? null : { value: xmp.offsetMinutes, from: xmp.from } };
  if (own === null) {
    if (other === null && clockTags(photo) === null) remarks.push('Its EXIF data gives no time (DateTimeOriginal).');
    return other;
  }
  // XMP often repeats EXIF's time, and can always give its zone.
  const same = own.zone === null && other !== null && Math.abs(own.clock - other.clock) < SAME_MOMENT_MS;
  return same ? { ...own, zone: other.zone } : own;
}

function clockTags(photo: TiffEntries): (typeof CLOCKS)[number] | null {
  return CLOCKS.find(([tag]) => photo.has(PHOTO[tag])) ?? null;
}

function exifReading(photo: TiffEntries, remarks: string[]): ClockReading | null {
  const tags = clockTags(photo);
  if (tags === null) return null;
  const [dateTag, offsetTag, fractionTag] = tags;
  const clock = clockOf(textOf(photo, PHOTO[dateTag]));
  if (clock === null) {
    remarks.push(`EXIF ${dateTag} was ignored: it is not a date and time.`);
    return null;
  }
  const digits = /^\d+/.exec(textOf(photo, PHOTO[fractionTag])?.trim() ?? '')?.[0];
  // OffsetTime is that of the last change: of the same clock, where the camera wrote no other.
  const zones = ([offsetTag, 'OffsetTime'] as const).flatMap((tag) => {
    const value = zoneMinutes(textOf(photo, PHOTO[tag]) ?? '');
    return value === null ? [] : [{ value, from: `EXIF ${tag}` }];
  });
  return { clock: clock + Number(`0.${digits ?? '0'}`) * 1000, from: `EXIF ${dateTag}`, zone: zones[0] ?? null };
}

/** The time on the camera's clock: "2026:11:25 20:30:00". Null for anything else, such as an impossible date. */
function clockOf(text: string | null): ClockMs | null {
  const match = /^(\d{4}):(\d{2}):(\d{2}) (\d{2}:\d{2}:\d{2})$/.exec(text ?? '');
  if (!match) return null;
  const day = parseDay(`${match[1]}-${match[2]}-${match[3]}`);
  const time = parseTime(match[4] as string);
  return day === null || time === null ? null : day + time;
}

/** UTC, milliseconds since 1970, of the satellites' time. Where it has no date, and `near` is UTC, on the day that brings it nearest. */
function satelliteTime(gps: TiffEntries, near: number, dateNeeded: boolean): number | null {
  const [h, m, s] = [0, 1, 2].map((part) => gps.get(GPS.TimeStamp)?.number(part) ?? NaN) as [number, number, number];
  if (!(h >= 0 && h < 24 && m >= 0 && m < 60 && s >= 0 && s < 61)) return null;
  const time = ((h * 60 + m) * 60 + s) * 1000;
  const day = parseDay((textOf(gps, GPS.DateStamp) ?? '').replaceAll(':', '-'));
  if (day !== null) return day + time;
  return dateNeeded ? null : near - withinDay(near - time);
}

function satelliteDoubts(late: number, exposureMs: number, offset: number, satellites: number, remarks: string[]): string[] {
  // The fix may be of any time in the exposure.
  const beside = late > 0 ? late : Math.min(0, late + exposureMs);
  if (Math.abs(beside) <= FIX_MS) return [];
  const says = `The camera clock is ${apartWords(late)} ${late > 0 ? 'ahead of' : 'behind'} its GPS time (${clockWords(satellites)} UTC)`;
  if (Math.abs(beside) <= OLD_FIX_MS) {
    remarks.push(`${says}. The camera clock counts, since the fix may be old.`);
    return [];
  }
  const zone = zoneOf(late + offset * 60_000);
  const why = zone === null ? looksLike(late) : ` Daylight saving or another zone does that: UTC${offsetWords(zone)} would agree.`;
  return [`${says}.${why}`];
}
