import type { Aim } from '../axis/aim.js';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { isZoneName } from '../frames/cameraZone.js';
import { writtenZone } from '../frames/dateText.js';
import { decimalNumber, withPoint } from '../frames/decimalText.js';
import { parseDegrees } from '../frames/sexagesimal.js';
import type { Near } from '../tasks/given/placeHint.js';

/** Options that several commands share, as commander gives them. */
export interface CommonOptions {
  readonly latitude?: number;
  readonly longitude?: number;
  readonly elevation?: number;
  readonly pressure?: number;
  readonly temperature?: number;
  readonly aim: Aim;
  readonly utcOffset?: number;
  /** An offset in minutes, or a name. */
  readonly zone?: number | string;
  /** Seconds. */
  readonly clockAhead?: number;
  readonly focalLength?: number;
  readonly pixelSize?: number;
  readonly near?: Near;
  readonly rig?: string;
  readonly site?: string;
  readonly night?: boolean;
  readonly json?: boolean;
}

/** Adds the options that describe site, air, optics and clock. */
export function addCommonOptions(command: Command): Command {
  return command
    .option('--latitude <degrees>', 'of the site, north positive: 39.2, "39 12 N"', angle('latitude', 90))
    .option('--longitude <degrees>', 'of the site, east positive: -3.4, "3 24 W"', angle('longitude', 360))
    .option('--elevation <m>', 'of the site above the sea', quantity('elevation', -500, 9000, 'm'))
    .option('--site <name>', 'which of the rig file\'s sites it is')
    .option('--pressure <hPa>', 'of the air at the site, not reduced to the sea', quantity('pressure', 300, 1100, 'hPa'))
    .option('--temperature <°C>', 'of the air', quantity('temperature', -80, 60, '°C'))
    .addOption(new Option('--aim <pole>', 'align to the pole as it appears through the air, or to the true one')
      .choices(['refracted', 'true']).default('refracted'))
    .option('--zone <name>', 'of the camera clock, where frames carry none: Europe/Madrid, daylight saving by the date', zone)
    .addOption(new Option('--utc-offset <±HH:MM>', 'the same as an offset: +01:00, +1').argParser(utcOffset).conflicts('zone'))
    .option('--clock-ahead <±HH:MM[:SS]>', 'how far the clock of the frames is ahead, its zone taken off: +01:00, -00:00:12', clockAhead)
    .option('--focal-length <mm>', 'speeds up the search; a wrong value does no harm', quantity('focal length', 1, 20000, 'mm'))
    .option('--pixel-size <µm>', 'likewise', quantity('pixel size', 0.1, 1000, 'µm'))
    .option('--near <RA,Dec|pole>', 'where frames look, hours and degrees (5.6,-5.4): speeds up the search', near)
    .option('--rig <file>', 'site, camera and knobs; else poleward.json beside the frames, above, or in your configuration')
    .option('--night', 'dim red text')
    .option('--json', 'for programs');
}

/** Parses "pole", or right ascension (hours; with ° or d degrees) and declination. */
export function near(text: string): Near {
  if (/^\s*pole\s*$/i.test(text)) return 'pole';
  const [ra = '', dec = '', more] = text.split(',').map((part) => part.trim());
  const inDegrees = /[°d]$/i.test(ra);
  const raDeg = inDegrees ? Number(ra.replace(/[°d]$/i, '')) : 15 * degreesOf(ra);
  const decDeg = degreesOf(dec);
  if (ra === '' || dec === '' || more !== undefined || !(raDeg >= 0 && raDeg <= 360) || !(Math.abs(decDeg) <= 90)) {
    throw new InvalidArgumentError(
      `"${text}" is no place in the sky. Write right ascension in hours and declination in degrees, like 5.6,-5.4 or "5 35 17,-5 23", `
        + 'or "pole".',
    );
  }
  return { raDeg, decDeg };
}

function degreesOf(text: string): number {
  return parseDegrees(/^[+-]?[\d.]+$/.test(text) ? Number(text) : text);
}

/** Parses an angle in degrees within ± `most`. */
export function angle(name: string, most: number): (text: string) => number {
  return (text) => {
    const plain = withPoint(text.trim());
    const value = parseDegrees(/^[+-]?[\d.]+$/.test(plain) ? Number(plain) : plain);
    if (!Number.isFinite(value) || Math.abs(value) > most) {
      throw new InvalidArgumentError(
        `The ${name} "${text}" is no angle from -${most}° to ${most}°. Write degrees, such as 39.2 or "39 12 N".`,
      );
    }
    return value;
  };
}

/** Parses a number within limits; `unit` only for what it says otherwise. */
export function quantity(name: string, least: number, most: number, unit: string): (text: string) => number {
  return (text) => {
    const value = decimalNumber(text);
    if (!(value >= least && value <= most)) {
      throw new InvalidArgumentError(`The ${name} "${text}" is no number from ${least} to ${most} ${unit}. Write it without the unit.`);
    }
    return value;
  };
}

function utcOffset(text: string): number {
  const minutes = writtenZone(text);
  if (minutes === null) throw new InvalidArgumentError(`"${text}" is no offset from UTC. Write it like +02:00 or -07:00.`);
  return minutes;
}

function zone(text: string): number | string {
  const minutes = writtenZone(text);
  if (minutes !== null) return minutes;
  if (isZoneName(text.trim())) return text.trim();
  throw new InvalidArgumentError(`"${text}" is no time zone. Write its name like Europe/Madrid or America/Lima.`);
}

/** Seconds of "+01:00" or "-00:00:12.5", less than 26 hours: a zone and a day that did not change. */
function clockAhead(text: string): number {
  const match = /^([+-]?)(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d*)?))?$/.exec(text.trim());
  const [hours, minutes, seconds] = [Number(match?.[2]), Number(match?.[3]), Number(match?.[4] ?? 0)];
  if (!match || hours > 26 || minutes > 59 || seconds >= 60) {
    throw new InvalidArgumentError(`"${text}" is no time a clock can be ahead. Write it like +01:00, or -00:00:12 where it is behind.`);
  }
  return (match[1] === '-' ? -1 : 1) * (hours * 3600 + minutes * 60 + seconds);
}
