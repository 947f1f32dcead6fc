import type { SaidZone } from './cameraZone.js';
import { exifTags, GPS, numberOf, PHOTO, textOf } from './exifTags.js';
import { exifTime } from './exifTime.js';
import type { FrameMetadata, Sourced } from './frame.js';
import { longitudeFrom, siteOrNone, sourced } from './plausible.js';
import type { TiffEntries } from './tiffDirectory.js';
import { readXmp } from './xmp.js';

/** Metadata of a picture that has none. */
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
 * What EXIF (bytes from "Exif", or a whole TIFF file, which has the same structure) says of time, exposure, optics and site; for time and
 * exposure, where it has none, what a packet of XMP says. The times are the camera's clock: `zone` (as the person gave it), else the
 * picture's own zone, makes them UTC. Without either the frame has no time, and a remark says so, with the offset that a GPS time suggests.
 * GPS time (UTC) is only compared with it. Source: Exif 2.32 (CIPA DC-008-2019), sections 4.6.5 and 4.6.6.
 */
export function exifMetadata(exif: Uint8Array | null, zone: SaidZone | null, xmpBytes: Uint8Array | null = null): FrameMetadata {
  const tags = exif === null ? null : exifTags(exif);
  const xmp = readXmp(xmpBytes ?? tags?.xmp ?? null);
  if (tags === null && xmp === null) return noMetadata([exif === null ? NO_EXIF : DAMAGED_EXIF]);
  const remarks: string[] = [];
  const photo: TiffEntries = tags?.photo ?? new Map();
  const gps: TiffEntries = tags?.gps ?? new Map();
  const number = (value: number | null, low: number, high: number, from: string): Sourced<number> | null =>
    value === null ? null : sourced(value, low, high, from, remarks);

  const exposureSeconds = number(numberOf(photo, PHOTO.ExposureTime), 0, LONGEST_EXPOSURE, 'EXIF ExposureTime')
    ?? number(secondsOfApex(numberOf(photo, PHOTO.ShutterSpeedValue)), 0, LONGEST_EXPOSURE, 'EXIF ShutterSpeedValue')
    ?? number(xmp?.exposureSeconds ?? null, 0, LONGEST_EXPOSURE, 'XMP ExposureTime');
  // 0 means unknown, and so does 0/0 (Exif 4.6.5, "unknown" for rationals).
  const focalLength = numberOf(photo, PHOTO.FocalLength);
  const latitude = number(degrees(gps, GPS.Latitude, GPS.LatitudeRef, 'S'), -90, 90, 'EXIF GPSLatitude');
  const longitude = longitudeFrom(number(degrees(gps, GPS.Longitude, GPS.LongitudeRef, 'W'), -180, 360, 'EXIF GPSLongitude'));
  const time = exifTime({ photo, gps }, xmp?.time ?? null, exposureSeconds, zone, remarks);
  return {
    ...time,
    exposureSeconds,
    pixelSizeMicrometres: pixelSize(photo),
    binning: null,
    focalLengthMillimetres: focalLength === 0 || Number.isNaN(focalLength) ? null : number(focalLength, 1, 100_000, 'EXIF FocalLength'),
    ...siteOrNone(latitude, longitude, number(elevation(gps), -450, 9000, 'EXIF GPSAltitude'), remarks),
    remarks,
  };
}

/** Seconds; a day. */
const LONGEST_EXPOSURE = 86_400;
const NO_EXIF = 'It carries no EXIF data: no time, exposure or optics.';
const DAMAGED_EXIF = 'Its EXIF data is damaged and was ignored.';

/** Exposure of a shutter speed in APEX units: 2 to the minus that (Exif 2.32, annex C). */
function secondsOfApex(speed: number | null): number | null {
  return speed === null || Number.isNaN(speed) ? null : 2 ** -speed;
}

/** Degrees from degrees, minutes and seconds with their N, S, E or W; NaN for anything else that is not empty. */
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

/**
 * From pixels per inch (unit 2) or centimetre (3) of the sensor. Cameras round it; it is only a hint, so impossible values are left out
 * without a remark.
 */
function pixelSize(photo: TiffEntries): Sourced<number> | null {
  const resolution = numberOf(photo, PHOTO.FocalPlaneXResolution);
  const unit = numberOf(photo, PHOTO.FocalPlaneResolutionUnit) === 3 ? 10_000 : 25_400;
  const pitch = resolution === null ? NaN : unit / resolution;
  return pitch >= 0.1 && pitch <= 100 ? { value: pitch, from: 'EXIF FocalPlaneXResolution' } : null;
}
