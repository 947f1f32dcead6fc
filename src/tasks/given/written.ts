import { PolewardError } from '../../error.js';
import { isZoneName } from '../../frames/cameraZone.js';
import { writtenZone } from '../../frames/dateText.js';
import { decimalNumber, withPoint } from '../../frames/decimalText.js';
import { parseDegrees } from '../../frames/sexagesimal.js';
import type { Near } from './placeHint.js';

/** What people write for site, clock and camera, in an option or a field of a page. Each of these throws PolewardError `bad-option`. */

/** Least and most that each quantity can be, and its unit. */
export const QUANTITIES = {
  elevation: [-500, 9000, 'm'],
  pressure: [300, 1100, 'hPa'],
  temperature: [-80, 60, '°C'],
  'focal length': [1, 20000, 'mm'],
  'pixel size': [0.1, 1000, 'µm'],
  limit: [0.01, 600, 'arcminutes'],
} as const;

export type QuantityName = keyof typeof QUANTITIES;

/** One of {@link QUANTITIES}. */
export function writtenQuantity(name: QuantityName, text: string): number {
  const [least, most, unit] = QUANTITIES[name];
  return writtenNumber(name, least, most, unit, text);
}

/** A number within limits, without its unit. */
export function writtenNumber(name: string, least: number, most: number, unit: string, text: string): number {
  const value = decimalNumber(text);
  if (value >= least && value <= most) return value;
  throw bad(`The ${name} "${text}" is not a number from ${least} to ${most} ${unit}. Write it without the unit.`);
}

/** Degrees within ± `most`: 39.2, "39 12 N". */
export function writtenAngle(name: string, most: number, text: string): number {
  const plain = withPoint(text.trim());
  const value = parseDegrees(/^[+-]?[\d.]+$/.test(plain) ? Number(plain) : plain);
  if (Number.isFinite(value) && Math.abs(value) <= most) return value;
  throw bad(`The ${name} "${text}" is not an angle from -${most}° to ${most}°. Write degrees, such as 39.2 or "39 12 N".`);
}

/** "pole", or right ascension (hours; with ° or d degrees) and declination. */
export function writtenNear(text: string): Near {
  if (/^\s*pole\s*$/i.test(text)) return 'pole';
  const [ra = '', dec = '', more] = text.split(',').map((part) => part.trim());
  const inDegrees = /[°d]$/i.test(ra);
  const raDeg = inDegrees ? Number(ra.replace(/[°d]$/i, '')) : 15 * degreesOf(ra);
  const decDeg = degreesOf(dec);
  if (ra === '' || dec === '' || more !== undefined || !(raDeg >= 0 && raDeg <= 360) || !(Math.abs(decDeg) <= 90)) {
    throw bad(`"${text}" is not a place in the sky. Write right ascension in hours and declination in degrees, like 5.6,-5.4 or `
      + '"5 35 17,-5 23", or "pole".');
  }
  return { raDeg, decDeg };
}

function degreesOf(text: string): number {
  return parseDegrees(/^[+-]?[\d.]+$/.test(text) ? Number(text) : text);
}

/** Minutes east of UTC, or a zone's name. */
export function writtenZoneOrName(text: string): number | string {
  const minutes = writtenZone(text);
  if (minutes !== null) return minutes;
  if (isZoneName(text.trim())) return text.trim();
  throw bad(`"${text}" is not a time zone. Write its name like Europe/Madrid or America/Lima.`);
}

/** Seconds of "+01:00" or "-00:00:12.5", less than 26 hours: a zone and a day that did not change. */
export function writtenClockAhead(text: string): number {
  const match = /^([+-]?)(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d*)?))?$/.exec(text.trim());
  const [hours, minutes, seconds] = [Number(match?.[2]), Number(match?.[3]), Number(match?.[4] ?? 0)];
  if (match && hours <= 26 && minutes <= 59 && seconds < 60) {
    return (match[1] === '-' ? -1 : 1) * (hours * 3600 + minutes * 60 + seconds);
  }
  throw bad(`"${text}" is not a time by which a clock can be ahead. Write it like +01:00, or -00:00:12 if it is behind.`);
}

/** A UTC date and time: 2026-11-25T20:00:00, seconds and a Z optional. */
export function writtenTime(text: string): Date {
  // Date.parse takes a time without zone for local: never here.
  const match = /^(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d(?::\d\d(?:\.\d{1,3})?)?)Z?$/.exec(text.trim());
  const time = new Date(match ? `${match[1]}T${match[2]}Z` : NaN);
  // What rolls over (30 February) is no date.
  if (match && Number.isFinite(time.getTime()) && time.toISOString().startsWith(match[1]!)) return time;
  throw bad(`The time "${text}" is not a UTC date and time. Write it like 2026-11-25T20:00:00.`);
}

/** Such times, with commas between. */
export function writtenTimes(text: string): Date[] {
  const times = text.split(',').filter((part) => part.trim() !== '');
  if (times.length === 0) throw bad('No time was given. Write them like 2026-11-25T20:00:00,2026-11-25T20:02:00.');
  return times.map(writtenTime);
}

function bad(message: string): PolewardError {
  return new PolewardError('bad-option', message);
}
