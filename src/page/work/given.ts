import { attempt, PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { parseRig } from '../../knobs/rig.js';
import type { Limit } from '../../night/said.js';
import { type Given, givenValues } from '../../tasks/given/given.js';
import { atSite } from '../../tasks/given/namedSite.js';
import type { RigInForce } from '../../tasks/given/rigInForce.js';
import { writtenNear, writtenZoneOrName } from '../../tasks/given/written.js';
import { limitInForce } from '../../tasks/measure/limit.js';
import { plannedLimit } from '../../tasks/measure/plannedLimit.js';
import type { Settings } from '../keep/settings.js';

/** Values from the settings. A place from the device counts after that in frames, a typed one before it. */
export function givenBy(settings: Settings, framesSayWhere: boolean): Given {
  const { place } = settings;
  const told = place && (place.from === 'typed' || !framesSayWhere) ? place : null;
  const said = <T>(value: T | null | undefined, from: string): Sourced<T> | undefined =>
    (value === null || value === undefined ? undefined : { value, from });
  const zone = read(settings.zone, writtenZoneOrName);
  const from = told?.from ?? 'typed';
  const rigFile = rigBy(settings);
  return {
    aim: settings.aim, rigFile,
    ...givenValues({
      latitudeDeg: said(told?.latitudeDeg, from), longitudeDeg: said(told?.longitudeDeg, from),
      elevationMetres: said(told?.elevationMetres, from),
      pressureHectopascal: said(settings.pressureHectopascal, 'typed'), temperatureCelsius: said(settings.temperatureCelsius, 'typed'),
      utcOffsetMinutes: said(typeof zone === 'number' ? zone : null, 'typed'),
      zoneName: said(typeof zone === 'string' ? zone : null, 'typed'),
      near: said(read(settings.near, writtenNear), 'typed'), clockAheadSeconds: said(settings.clockAheadSeconds, 'typed'),
      focalLengthMillimetres: said(settings.focalLengthMillimetres, 'typed'),
      pixelSizeMicrometres: said(settings.pixelSizeMicrometres, 'typed'),
    }, rigFile),
  };
}

/** Reads what was typed, which was checked before it was kept; null for nothing. */
export function read<T>(text: string | null, written: (text: string) => T): T | null {
  const value = text === null ? null : attempt(() => written(text));
  return value instanceof PolewardError ? null : value;
}

/** The rig at its chosen site. A site that only an earlier rig had is ignored. */
function rigBy({ rig, site }: Settings): RigInForce | null {
  const parsed = read(rig?.text ?? null, (text) => parseRig(text, rig!.name));
  if (!parsed) return null;
  const whole: RigInForce = { rig: parsed, path: rig!.name, from: 'this page' };
  const chosen = read(site, (name) => atSite(whole, { value: name, from: 'typed' }));
  return chosen ?? atSite(whole, undefined);
}

export function limitBy(settings: Settings, given: Given): Limit {
  const { limitArcmin } = settings;
  return limitInForce(limitArcmin === null ? undefined : { value: limitArcmin, from: 'typed' }, given.rigFile, plannedLimit(given));
}
