import { latin1 } from './bytes.js';
import { type TiffEntries, tiffStructure } from './tiffDirectory.js';

/** Tags of Exif 2.32, tables 3 to 8 and 15, with their names there. */
const PHOTO_DIRECTORY = 0x8769;
const GPS_DIRECTORY = 0x8825;
/** Where a TIFF file keeps its XMP packet (XMP specification, part 3, 2020). */
const XMP_PACKET = 700;
export const PHOTO = {
  ExposureTime: 0x829a, DateTimeOriginal: 0x9003, DateTimeDigitized: 0x9004,
  OffsetTime: 0x9010, OffsetTimeOriginal: 0x9011, OffsetTimeDigitized: 0x9012,
  ShutterSpeedValue: 0x9201, FocalLength: 0x920a, SubSecTimeOriginal: 0x9291, SubSecTimeDigitized: 0x9292,
  FocalPlaneXResolution: 0xa20e, FocalPlaneResolutionUnit: 0xa210,
} as const;
export const GPS = {
  LatitudeRef: 1, Latitude: 2, LongitudeRef: 3, Longitude: 4, AltitudeRef: 5, Altitude: 6, TimeStamp: 7, DateStamp: 29,
} as const;
/** "Exif" and two NULs, which stand before the structure in some files. */
const PREFIX_BYTES = 6;

export interface ExifTags {
  /** Entries about the photo and about the place; empty where there are none. */
  readonly photo: TiffEntries;
  readonly gps: TiffEntries;
  /** A packet of XMP, where it is a TIFF file that has one. */
  readonly xmp: Uint8Array | null;
}

/** The entries of EXIF, from bytes that begin with "Exif" or with the TIFF structure; null where the bytes are not EXIF. */
export function exifTags(exif: Uint8Array): ExifTags | null {
  const structure = tiffStructure(latin1(exif, 0, 5) === 'Exif\0' ? exif.subarray(PREFIX_BYTES) : exif);
  const main = structure?.directory(structure.first)?.entries;
  if (!structure || !main) return null;
  const below = (tag: number): TiffEntries => structure.directory(numberOf(main, tag) ?? 0)?.entries ?? new Map();
  return { photo: below(PHOTO_DIRECTORY), gps: below(GPS_DIRECTORY), xmp: main.get(XMP_PACKET)?.bytes() ?? null };
}

export function numberOf(entries: TiffEntries, tag: number): number | null {
  return entries.get(tag)?.number(0) ?? null;
}

export function textOf(entries: TiffEntries, tag: number): string | null {
  return entries.get(tag)?.text() ?? null;
}
