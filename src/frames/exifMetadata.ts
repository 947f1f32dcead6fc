import exifReader from 'exif-reader';
import { apartWords, clockWords, looksLike, offsetWords, withinDay, zoneOf } from './clockDoubts.js';
import { parseDay, zoneMinutes } from './dateText.js';
import type { FrameMetadata, Sourced } from './frame.js';
import { withAllowance } from './allowance.js';
import { longitudeFrom, siteOrNone, sourced } from './plausible.js';

/** Metadata of a picture that says nothing. */
export function noMetadata(remarks: readonly string[] = []): FrameMetadata {
  return {
    midExposure: null,
    exposureSeconds: null,
    pixelSizeMicrometres: null,
    binning: null,
    focalLengthMillimetres: null,
    latitudeDeg: null,
    longitudeDeg: null,
    elevationMetres: null,
    remarks,
  };
}

/**
 * What EXIF (bytes from "Exif", or a whole TIFF file, which has the same structure) says of time, exposure, optics and site.
 * Its times are the camera's clock: `utcOffsetMinutes` (east of UTC, as the person gave it), else OffsetTimeOriginal, makes them UTC;
 * with neither the frame has no time, and a remark says so, with the offset that a GPS time shows. GPS time (UTC) is only held against it.
 * Source: Exif 2.32 (CIPA DC-008-2019), sections 4.6.5 and 4.6.6.
 */
export function exifMetadata(exif: Buffer, utcOffsetMinutes: number | null): FrameMetadata {
  let tags: exifReader.Exif;
  try {
    tags = exifReader(withAllowance(exif));
  } catch {
    return noMetadata(['Its EXIF data is damaged and was ignored.']);
  }
  const remarks: string[] = [];
  // A damaged entry is null or of another type than the standard's.
  const photo: Record<string, unknown> = tags.Photo ?? {};
  const gps: Record<string, unknown> = tags.GPSInfo ?? {};
  const number = (value: unknown, low: number, high: number, from: string): Sourced<number> | null =>
    value === undefined || value === null ? null : sourced(Number(value), low, high, `EXIF ${from}`, remarks);

  const exposureSeconds = number(photo['ExposureTime'], 0, 86_400, 'ExposureTime');
  // 0 stands for unknown, and so does 0/0 (Exif 4.6.5, "unknown" for rationals).
  const focalLength = photo['FocalLength'];
  const latitude = number(degrees(gps['GPSLatitude'], gps['GPSLatitudeRef'], 'S'), -90, 90, 'GPSLatitude');
  const longitude = longitudeFrom(number(degrees(gps['GPSLongitude'], gps['GPSLongitudeRef'], 'W'), -180, 360, 'GPSLongitude'));
  return {
    ...timeOf(exif, photo, gps, exposureSeconds, utcOffsetMinutes, remarks),
    exposureSeconds,
    pixelSizeMicrometres: pixelSize(photo),
    binning: null,
    focalLengthMillimetres: focalLength === 0 || Number.isNaN(focalLength) ? null : number(focalLength, 1, 100_000, 'FocalLength'),
    ...siteOrNone(latitude, longitude, number(elevation(gps), -450, 9000, 'GPSAltitude'), remarks),
    remarks,
  };
}

interface ExifTime {
  readonly midExposure: Sourced<Date> | null;
  readonly utcOffsetMinutes?: Sourced<number>;
  readonly clockDoubts?: readonly string[];
}

/** Tags of the camera's clock with those of its offset and fraction: of a digital camera both moments are one. */
const CLOCKS = [
  ['DateTimeOriginal', 'OffsetTimeOriginal', 'SubSecTimeOriginal'],
  ['DateTimeDigitized', 'OffsetTimeDigitized', 'SubSecTimeDigitized'],
] as const;
/** How far the satellites' time, which is that of the last fix, may lie from the camera's before it is worth a word, milliseconds. */
const FIX_MS = 60_000;
/** Before it is worth a warning: a fix may be old. */
const OLD_FIX_MS = 13 * 60_000;

function timeOf(
  exif: Buffer,
  photo: Record<string, unknown>,
  gps: Record<string, unknown>,
  exposure: Sourced<number> | null,
  utcOffsetMinutes: number | null,
  remarks: string[],
): ExifTime {
  const [dateTag, offsetTag, fractionTag] = CLOCKS.find(([tag]) => photo[tag] !== undefined && photo[tag] !== null) ?? CLOCKS[0];
  const taken = photo[dateTag];
  if (taken === undefined) {
    remarks.push('Its EXIF data gives no time (DateTimeOriginal).');
    return { midExposure: null };
  }
  // exif-reader gives the camera's clock in the UTC fields of a Date.
  if (!(taken instanceof Date) || !isWritten(exif, taken)) {
    remarks.push(`EXIF ${dateTag} was ignored: it is no date and time.`);
    return { midExposure: null };
  }
  // OffsetTime is that of the last change: of the same clock, where the camera wrote no other.
  const zoneTag = [offsetTag, 'OffsetTime'].find((tag) => typeof photo[tag] === 'string' && zoneMinutes(String(photo[tag])) !== null);
  const ownOffset = zoneTag === undefined ? null : zoneMinutes(String(photo[zoneTag]));
  const offset = utcOffsetMinutes ?? ownOffset;
  const fraction = photo[fractionTag];
  const digits = typeof fraction === 'string' ? /^\d+/.exec(fraction.trim())?.[0] : undefined;
  const clock = taken.getTime() + Number(`0.${digits ?? '0'}`) * 1000;
  const satellites = satelliteTime(gps, clock - (offset ?? 0) * 60_000, offset === null);
  if (offset === null) {
    const zone = satellites === null ? null : zoneOf(clock - satellites);
    const hint = zone === null ? '' : ` By its GPS time that is ${offsetWords(zone)}.`;
    remarks.push(`EXIF ${dateTag} was ignored: it does not say its offset from UTC. Give --utc-offset, the zone the camera clock was set to.${hint}`);
    return { midExposure: null };
  }
  if (ownOffset !== null && ownOffset !== offset) {
    remarks.push(`EXIF ${zoneTag} (${String(photo[zoneTag ?? '']).trim()}) was overruled by --utc-offset.`);
  }
  const offsetFrom = utcOffsetMinutes === null ? `EXIF ${zoneTag}` : '--utc-offset';
  const startMs = clock - offset * 60_000;
  const doubts = satellites === null ? [] : satelliteDoubts(startMs - satellites, (exposure?.value ?? 0) * 1000, offset, satellites, remarks);
  let from = `EXIF ${dateTag} and ${offsetFrom.replace('EXIF ', '')}`;
  if (exposure === null) remarks.push(`The exposure is unknown, so EXIF ${dateTag} stands for its middle.`);
  else from += ' + half the exposure';
  return {
    midExposure: { value: new Date(startMs + (exposure?.value ?? 0) * 500), from },
    utcOffsetMinutes: { value: offset, from: offsetFrom },
    ...(doubts.length > 0 ? { clockDoubts: doubts } : {}),
  };
}

/** UTC, milliseconds since 1970, of the satellites' time; with no date of its own, and a `near` that is UTC, on the day that brings it nearest. */
function satelliteTime(gps: Record<string, unknown>, near: number, dateNeeded: boolean): number | null {
  const parts = Array.isArray(gps['GPSTimeStamp']) ? gps['GPSTimeStamp'].map(Number) : [];
  const [h = NaN, m = NaN, s = NaN] = parts;
  if (!(h >= 0 && h < 24 && m >= 0 && m < 60 && s >= 0 && s < 61)) return null;
  const time = ((h * 60 + m) * 60 + s) * 1000;
  const date = gps['GPSDateStamp'];
  const day = typeof date === 'string' ? parseDay(date.trim().replaceAll(':', '-')) : null;
  if (day !== null) return day + time;
  return dateNeeded ? null : near - withinDay(near - time);
}

function satelliteDoubts(late: number, exposureMs: number, offset: number, satellites: number, remarks: string[]): string[] {
  // The fix may be of any moment of the exposure.
  const beside = late > 0 ? late : Math.min(0, late + exposureMs);
  if (Math.abs(beside) <= FIX_MS) return [];
  const says = `The camera clock is ${apartWords(late)} ${late > 0 ? 'ahead of' : 'behind'} its GPS time (${clockWords(satellites)} UTC)`;
  if (Math.abs(beside) <= OLD_FIX_MS) {
    remarks.push(`${says}. The camera clock counts, since the fix may be old.`);
    return [];
  }
  const zone = zoneOf(late + offset * 60_000);
  return [`${says}.${zone === null ? looksLike(late) : ` Daylight saving or another zone does that: --utc-offset ${offsetWords(zone)} would agree.`}`];
}

/** False where exif-reader carried an impossible date ("2026:02:31") over into another one, or a year is no year of a camera. */
function isWritten(exif: Buffer, date: Date): boolean {
  const [day = '', time = ''] = date.toISOString().slice(0, 19).split('T');
  return date.getUTCFullYear() >= 1900 && date.getUTCFullYear() < 2200 && exif.includes(`${day.replaceAll('-', ':')} ${time}`);
}

/** Degrees of [degrees, minutes, seconds] with its N, S, E or W; NaN for anything else but nothing at all. */
function degrees(parts: unknown, reference: unknown, negative: 'S' | 'W'): number | undefined {
  if (parts === undefined || parts === null) return undefined;
  const [d, m, s] = Array.isArray(parts) ? parts.map(Number) : [];
  const letter = typeof reference === 'string' ? reference.trim().toUpperCase()[0] : undefined;
  const positive = negative === 'S' ? 'N' : 'E';
  if (d === undefined || m === undefined || s === undefined || (letter !== negative && letter !== positive)) return NaN;
  return (letter === negative ? -1 : 1) * (d + m / 60 + s / 3600);
}

function elevation(gps: Record<string, unknown>): number | undefined {
  const altitude = gps['GPSAltitude'];
  if (typeof altitude !== 'number') return undefined;
  return gps['GPSAltitudeRef'] === 1 ? -altitude : altitude;
}

/** From pixels per inch (unit 2) or centimetre (3) of the sensor. Cameras round it; it is only a hint, so nonsense is left out unsaid. */
function pixelSize(photo: Record<string, unknown>): Sourced<number> | null {
  const resolution = photo['FocalPlaneXResolution'];
  const unit = { 2: 25_400, 3: 10_000 }[photo['FocalPlaneResolutionUnit'] === 3 ? 3 : 2];
  const pitch = typeof resolution === 'number' ? unit / resolution : NaN;
  return pitch >= 0.1 && pitch <= 100 ? { value: pitch, from: 'EXIF FocalPlaneXResolution' } : null;
}
