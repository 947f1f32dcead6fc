import { printable } from '../printable.js';
import type { FrameMetadata, Sourced } from './frame.js';

/** Most characters of a file's text shown in a remark. */
const MOST_SHOWN = 80;

/** The value with its source, or null and a remark where it is not a number from `low` to `high`. `shown` is the file's own text. */
export function sourced(
  value: number,
  low: number,
  high: number,
  from: string,
  remarks: string[],
  shown: string = String(value),
): Sourced<number> | null {
  if (value >= low && value <= high) return { value, from };
  const why = Number.isNaN(value) ? 'not readable' : `not between ${low} and ${high}`;
  remarks.push(`${from} was ignored: "${printable(shown, MOST_SHOWN)}" is ${why}.`);
  return null;
}

/** East longitude in -180 < degrees <= 180; files also give 0 to 360. */
export function longitudeFrom(longitude: Sourced<number> | null): Sourced<number> | null {
  return longitude && longitude.value > 180 ? { ...longitude, value: longitude.value - 360 } : longitude;
}

/** A site; none where latitude and longitude are both exactly 0, which means "not set" (common practice). */
export function siteOrNone(
  latitudeDeg: Sourced<number> | null,
  longitudeDeg: Sourced<number> | null,
  elevationMetres: Sourced<number> | null,
  remarks: string[],
): Pick<FrameMetadata, 'latitudeDeg' | 'longitudeDeg' | 'elevationMetres'> {
  if (latitudeDeg?.value === 0 && longitudeDeg?.value === 0) {
    remarks.push('The site 0°, 0° was taken as not set.');
    return { latitudeDeg: null, longitudeDeg: null, elevationMetres: null };
  }
  return { latitudeDeg, longitudeDeg, elevationMetres };
}
