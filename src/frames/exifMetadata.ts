import exifReader from 'exif-reader';
import { zoneMinutes } from './dateText.js';
import type { FrameMetadata, Sourced } from './frame.js';
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
 * with neither the frame has no time, and a remark says so.
 * Source: Exif 2.32 (CIPA DC-008-2019), sections 4.6.5 and 4.6.6.
 */
export function exifMetadata(exif: Buffer, utcOffsetMinutes: number | null): FrameMetadata {
  let tags: exifReader.Exif;
  try {
    tags = exifReader(exif);
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
    midExposure: midExposure(exif, photo, exposureSeconds, utcOffsetMinutes, remarks),
    exposureSeconds,
    pixelSizeMicrometres: pixelSize(photo),
    binning: null,
    focalLengthMillimetres: focalLength === 0 || Number.isNaN(focalLength) ? null : number(focalLength, 1, 100_000, 'FocalLength'),
    ...siteOrNone(latitude, longitude, number(elevation(gps), -450, 9000, 'GPSAltitude'), remarks),
    remarks,
  };
}

function midExposure(
  exif: Buffer,
  photo: Record<string, unknown>,
  exposure: Sourced<number> | null,
  utcOffsetMinutes: number | null,
  remarks: string[],
): Sourced<Date> | null {
  const taken = photo['DateTimeOriginal'];
  if (taken === undefined) {
    remarks.push('Its EXIF data gives no time (DateTimeOriginal).');
    return null;
  }
  // exif-reader gives the camera's clock in the UTC fields of a Date.
  if (!(taken instanceof Date) || !isWritten(exif, taken)) {
    remarks.push('EXIF DateTimeOriginal was ignored: it is no date and time.');
    return null;
  }
  const zone = photo['OffsetTimeOriginal'];
  const ownOffset = typeof zone === 'string' ? zoneMinutes(zone) : null;
  const offset = utcOffsetMinutes ?? ownOffset;
  if (offset === null) {
    remarks.push('EXIF DateTimeOriginal was ignored: it does not say its offset from UTC. Give --utc-offset, the zone the camera clock was set to.');
    return null;
  }
  if (ownOffset !== null && ownOffset !== offset) {
    remarks.push(`EXIF OffsetTimeOriginal (${String(zone).trim()}) was overruled by --utc-offset.`);
  }
  const fraction = photo['SubSecTimeOriginal'];
  const digits = typeof fraction === 'string' ? /^\d+/.exec(fraction.trim())?.[0] : undefined;
  const startMs = taken.getTime() + Number(`0.${digits ?? '0'}`) * 1000 - offset * 60_000;
  let from = `EXIF DateTimeOriginal and ${utcOffsetMinutes === null ? 'OffsetTimeOriginal' : '--utc-offset'}`;
  if (exposure === null) remarks.push('The exposure is unknown, so EXIF DateTimeOriginal stands for its middle.');
  else from += ' + half the exposure';
  return { value: new Date(startMs + (exposure?.value ?? 0) * 500), from };
}

/** False where exif-reader carried an impossible date ("2026:02:31") over into another one, or a year is no year of a camera. */
function isWritten(exif: Buffer, date: Date): boolean {
  const [day = '', time = ''] = date.toISOString().slice(0, 19).split('T');
  return date.getUTCFullYear() >= 1900 && exif.includes(`${day.replaceAll('-', ':')} ${time}`);
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
