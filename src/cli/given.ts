import type { Sourced } from '../frames/frame.js';
import { rigInForce } from '../node/rigFile.js';
import { type Given, type Said, givenValues } from '../tasks/given/given.js';
import { atSite } from '../tasks/given/namedSite.js';
import type { RigInForce } from '../tasks/given/rigInForce.js';
import type { CommonOptions } from './commonOptions.js';

/** What the options say of site, air, optics and clock. */
export function saidOf(options: Partial<CommonOptions>): Said {
  return {
    latitudeDeg: sourced(options.latitude, '--latitude'),
    longitudeDeg: sourced(options.longitude, '--longitude'),
    elevationMetres: sourced(options.elevation, '--elevation'),
    pressureHectopascal: sourced(options.pressure, '--pressure'),
    temperatureCelsius: sourced(options.temperature, '--temperature'),
    utcOffsetMinutes: typeof options.zone === 'number'
      ? { value: options.zone, from: '--zone' }
      : sourced(options.utcOffset, '--utc-offset'),
    zoneName: typeof options.zone === 'string' ? { value: options.zone, from: '--zone' } : undefined,
    clockAheadSeconds: sourced(options.clockAhead, '--clock-ahead'),
    focalLengthMillimetres: sourced(options.focalLength, '--focal-length'),
    pixelSizeMicrometres: sourced(options.pixelSize, '--pixel-size'),
    near: sourced(options.near, '--near'),
  };
}

/** The same, with the rig file's values where the options are silent. `near`: a frame or folder, where the search for the file begins. */
export function givenFor(options: CommonOptions, near: string | null): Given {
  const rigFile = rigFileOf(options, near);
  return { ...givenValues(saidOf(options), rigFile), rigFile, aim: options.aim };
}

/** The rig file in force, at the site that was chosen from it. */
export function rigFileOf({ rig, site }: Pick<CommonOptions, 'rig' | 'site'>, near: string | null): RigInForce | null {
  return atSite(rigInForce(sourced(rig, '--rig') ?? null, near), sourced(site, '--site'));
}

/** An option's value with its name; undefined where it was not given. */
export function sourced<T>(value: T | undefined, option: string): Sourced<T> | undefined {
  return value === undefined ? undefined : { value, from: option };
}
