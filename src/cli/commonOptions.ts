import type { Aim } from '../axis/aim.js';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { PolewardError, attempt } from '../error.js';
import { writtenZone } from '../frames/dateText.js';
import type { Near } from '../tasks/given/placeHint.js';
import {
  type QuantityName, writtenAngle, writtenClockAhead, writtenNear, writtenNumber, writtenQuantity, writtenZoneOrName,
} from '../tasks/given/written.js';

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
    .option('--elevation <m>', 'of the site above the sea', known('elevation'))
    .option('--site <name>', 'which of the rig file\'s sites it is')
    .option('--pressure <hPa>', 'of the air at the site, not reduced to the sea', known('pressure'))
    .option('--temperature <°C>', 'of the air', known('temperature'))
    .addOption(new Option('--aim <pole>', 'align to the pole as it appears through the air, or to the true one')
      .choices(['refracted', 'true']).default('refracted'))
    .option('--zone <name>', 'of the camera clock, for frames that carry none: Europe/Madrid; allows for daylight saving', zone)
    .addOption(new Option('--utc-offset <±HH:MM>', 'that zone as an offset from UTC: +01:00, +1').argParser(utcOffset).conflicts('zone'))
    .option('--clock-ahead <±HH:MM[:SS]>', 'how far the camera clock is ahead of the right time in its zone: +01:00, -00:00:12', clockAhead)
    .option('--focal-length <mm>', 'of the telescope or lens; speeds up the search, a wrong value does no harm', known('focal length'))
    .option('--pixel-size <µm>', 'of the stored pixels; likewise', known('pixel size'))
    .option('--near <RA,Dec|pole>', 'where the frames look, hours and degrees (5.6,-5.4); speeds up the search', near)
    .option('--rig <file>', 'site, camera and knobs; else poleward.json beside the frames, above, or in your configuration folder')
    .option('--night', 'dim red text')
    .option('--json', 'for programs');
}

/** Parses an option as `tasks/given/written.ts` reads it; what can't be is wrong usage. */
export function option<T>(written: (text: string) => T): (text: string) => T {
  return (text) => {
    const value = attempt(() => written(text));
    if (value instanceof PolewardError) throw new InvalidArgumentError(value.message);
    return value;
  };
}

/** Parses an angle in degrees within ± `most`. */
export function angle(name: string, most: number): (text: string) => number {
  return option((text) => writtenAngle(name, most, text));
}

/** Parses a number within limits; `unit` only for what it says otherwise. */
export function quantity(name: string, least: number, most: number, unit: string): (text: string) => number {
  return option((text) => writtenNumber(name, least, most, unit, text));
}

const known = (name: QuantityName): (text: string) => number => option((text) => writtenQuantity(name, text));
const [zone, clockAhead, near] = [option(writtenZoneOrName), option(writtenClockAhead), option(writtenNear)];

function utcOffset(text: string): number {
  const minutes = writtenZone(text);
  if (minutes === null) throw new InvalidArgumentError(`"${text}" is not an offset from UTC. Write it like +02:00 or -07:00.`);
  return minutes;
}
