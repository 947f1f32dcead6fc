import { latin1 } from './bytes.js';
import { apartWords, clockWords, looksLike, offsetWords, withinDay, zoneOf } from './clockDoubts.js';
import { type ClockMs, parseDay, parseTime, zoneMinutes } from './dateText.js';
import type { FrameMetadata, Sourced } from './frame.js';
import { longitudeFrom, siteOrNone, sourced } from './plausible.js';
import { type TiffEntries, tiffStructure } from './tiffDirectory.js';

/** Tags of Exif 2.32, tables 3 to 8 and 15, with their names there. */
const PHOTO_DIRECTORY = 0x8769;
const GPS_DIRECTORY = 0x8825;
const PHOTO = {
  ExposureTime: 0x829a, DateTimeOriginal: 0x9003, DateTimeDigitized: 0x9004,
  OffsetTime: 0x9010, OffsetTimeOriginal: 0x9011, OffsetTimeDigitized: 0x9012,
  FocalLength: 0x920a, SubSecTimeOriginal: 0x9291, SubSecTimeDigitized: 0x9292,
  FocalPlaneXResolution: 0xa20e, FocalPlaneResolutionUnit: 0xa210,
} as const;
const GPS = {
  LatitudeRef: 1, Latitude: 2, LongitudeRef: 3, Longitude: 4, AltitudeRef: 5, Altitude: 6, TimeStamp: 7, DateStamp: 29,
} as const;
/** "Exif" and two NULs, which stand before the structure in some files. */
const PREFIX_BYTES = 6;

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
export function exifMetadata(exif: Uint8Array, utcOffsetMinutes: number | null): FrameMetadata {
  const tags = exifTags(exif);
  if (tags === null) return noMetadata(['Its EXIF data is damaged and was ignored.']);
  const { photo, gps } = tags;
  const remarks: string[] = [];
  const number = (value: number | null, low: number, high: number, from: string): Sourced<number> | null =>
    value === null ? null : sourced(value, low, high, `EXIF ${from}`, remarks);

  const exposureSeconds = number(numberOf(photo, PHOTO.ExposureTime), 0, 86_400, 'ExposureTime');
  // 0 stands for unknown, and so does 0/0 (Exif 4.6.5, "unknown" for rationals).
  const focalLength = numberOf(photo, PHOTO.FocalLength);
  const latitude = number(degrees(gps, GPS.Latitude, GPS.LatitudeRef, 'S'), -90, 90, 'GPSLatitude');
  const longitude = longitudeFrom(number(degrees(gps, GPS.Longitude, GPS.LongitudeRef, 'W'), -180, 360, 'GPSLongitude'));
  return {
    ...timeOf(photo, gps, exposureSeconds, utcOffsetMinutes, remarks),
    exposureSeconds,
    pixelSizeMicrometres: pixelSize(photo),
    binning: null,
    focalLengthMillimetres: focalLength === 0 || Number.isNaN(focalLength) ? null : number(focalLength, 1, 100_000, 'FocalLength'),
    ...siteOrNone(latitude, longitude, number(elevation(gps), -450, 9000, 'GPSAltitude'), remarks),
    remarks,
  };
}

/** The entries about the photo and about the place; empty where it has none, null where the bytes are no EXIF. */
function exifTags(exif: Uint8Array): { photo: TiffEntries; gps: TiffEntries } | null {
  const structure = tiffStructure(latin1(exif, 0, 5) === 'Exif\0' ? exif.subarray(PREFIX_BYTES) : exif);
  const main = structure?.directory(structure.first)?.entries;
  if (!structure || !main) return null;
  const below = (tag: number): TiffEntries => structure.directory(numberOf(main, tag) ?? 0)?.entries ?? new Map();
  return { photo: below(PHOTO_DIRECTORY), gps: below(GPS_DIRECTORY) };
}

function numberOf(entries: TiffEntries, tag: number): number | null {
  return entries.get(tag)?.number(0) ?? null;
}

function textOf(entries: TiffEntries, tag: number): string | null {
  return entries.get(tag)?.text() ?? null;
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
  photo: TiffEntries,
  gps: TiffEntries,
  exposure: Sourced<number> | null,
  utcOffsetMinutes: number | null,
  remarks: string[],
): ExifTime {
  const [dateTag, offsetTag, fractionTag] = CLOCKS.find(([tag]) => photo.has(PHOTO[tag])) ?? CLOCKS[0];
  if (!photo.has(PHOTO[dateTag])) {
    remarks.push('Its EXIF data gives no time (DateTimeOriginal).');
    return { midExposure: null };
  }
  const taken = clockOf(textOf(photo, PHOTO[dateTag]));
  if (taken === null) {
    remarks.push(`EXIF ${dateTag} was ignored: it is no date and time.`);
    return { midExposure: null };
  }
  // OffsetTime is that of the last change: of the same clock, where the camera wrote no other.
  const zoneTag = ([offsetTag, 'OffsetTime'] as const).find((tag) => zoneMinutes(textOf(photo, PHOTO[tag]) ?? '') !== null);
  const zoneText = zoneTag === undefined ? '' : textOf(photo, PHOTO[zoneTag]) ?? '';
  const ownOffset = zoneMinutes(zoneText);
  const offset = utcOffsetMinutes ?? ownOffset;
  const digits = /^\d+/.exec(textOf(photo, PHOTO[fractionTag])?.trim() ?? '')?.[0];
  const clock = taken + Number(`0.${digits ?? '0'}`) * 1000;
  const satellites = satelliteTime(gps, clock - (offset ?? 0) * 60_000, offset === null);
  if (offset === null) {
    const zone = satellites === null ? null : zoneOf(clock - satellites);
    const hint = zone === null ? '' : ` By its GPS time that is ${offsetWords(zone)}.`;
    remarks.push(
      `EXIF ${dateTag} was ignored: it does not say its offset from UTC. Give --utc-offset, the zone the camera clock was set to.${hint}`,
    );
    return { midExposure: null };
  }
  if (ownOffset !== null && ownOffset !== offset) {
    remarks.push(`EXIF ${zoneTag} (${zoneText.trim()}) was overruled by --utc-offset.`);
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

/** What the camera's clock showed: "2026:11:25 20:30:00". Null for anything else, such as an impossible date. */
function clockOf(text: string | null): ClockMs | null {
  const match = /^(\d{4}):(\d{2}):(\d{2}) (\d{2}:\d{2}:\d{2})$/.exec(text ?? '');
  if (!match) return null;
  const day = parseDay(`${match[1]}-${match[2]}-${match[3]}`);
  const time = parseTime(match[4] as string);
  return day === null || time === null ? null : day + time;
}

/** UTC, milliseconds since 1970, of the satellites' time; with no date of its own, and a `near` that is UTC, on the day that brings it nearest. */
function satelliteTime(gps: TiffEntries, near: number, dateNeeded: boolean): number | null {
  const [h, m, s] = [0, 1, 2].map((part) => gps.get(GPS.TimeStamp)?.number(part) ?? NaN) as [number, number, number];
  if (!(h >= 0 && h < 24 && m >= 0 && m < 60 && s >= 0 && s < 61)) return null;
  const time = ((h * 60 + m) * 60 + s) * 1000;
  const day = parseDay((textOf(gps, GPS.DateStamp) ?? '').replaceAll(':', '-'));
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

/** Degrees of degrees, minutes and seconds with their N, S, E or W; NaN for anything else but nothing at all. */
function degrees(gps: TiffEntries, tag: number, referenceTag: number, negative: 'S' | 'W'): number | null {
  const parts = gps.get(tag);
  if (!parts) return null;
  const [d, m, s] = [0, 1, 2].map((part) => parts.number(part) ?? NaN) as [number, number, number];
  const letter = textOf(gps, referenceTag)?.trim().toUpperCase()[0];
  const positive = negative === 'S' ? 'N' : 'E';
  if (letter !== negative && letter !== positive) return NaN;
  return (letter === negative ? -1 : 1) * (d + m / 60 + s / 3600);
}

function elevation(gps: TiffEntries): number | null {
  const altitude = numberOf(gps, GPS.Altitude);
  return altitude !== null && numberOf(gps, GPS.AltitudeRef) === 1 ? -altitude : altitude;
}

/** From pixels per inch (unit 2) or centimetre (3) of the sensor. Cameras round it; it is only a hint, so nonsense is left out unsaid. */
function pixelSize(photo: TiffEntries): Sourced<number> | null {
  const resolution = numberOf(photo, PHOTO.FocalPlaneXResolution);
  const unit = numberOf(photo, PHOTO.FocalPlaneResolutionUnit) === 3 ? 10_000 : 25_400;
  const pitch = resolution === null ? NaN : unit / resolution;
  return pitch >= 0.1 && pitch <= 100 ? { value: pitch, from: 'EXIF FocalPlaneXResolution' } : null;
}
