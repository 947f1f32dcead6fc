import { attempt, PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { parseRig } from '../../knobs/rig.js';
import type { Limit } from '../../night/said.js';
import { type Given, givenValues } from '../../tasks/given/given.js';
import type { RigInForce } from '../../tasks/given/rigInForce.js';
import { limitInForce } from '../../tasks/measure/limit.js';
import { plannedLimit } from '../../tasks/measure/plannedLimit.js';
import type { Settings } from '../keep/settings.js';

/** What holds by the settings. A place that the device told, not the person, yields to what frames say. */
export function givenBy(settings: Settings, framesSayWhere: boolean): Given {
  const { place } = settings;
  const told = place && (place.from === 'typed' || !framesSayWhere) ? place : null;
  const said = (value: number | null | undefined, from: string): Sourced<number> | undefined =>
    (value === null || value === undefined ? undefined : { value, from });
  const from = told?.from ?? 'typed';
  const rigFile = rigBy(settings);
  return {
    aim: settings.aim, rigFile,
    ...givenValues({
      latitudeDeg: said(told?.latitudeDeg, from), longitudeDeg: said(told?.longitudeDeg, from),
      elevationMetres: said(told?.elevationMetres, from),
      pressureHectopascal: said(settings.pressureHectopascal, 'typed'), temperatureCelsius: said(settings.temperatureCelsius, 'typed'),
      utcOffsetMinutes: said(settings.utcOffsetMinutes, 'typed'), clockAheadSeconds: said(settings.clockAheadSeconds, 'typed'),
      focalLengthMillimetres: said(settings.focalLengthMillimetres, 'typed'),
      pixelSizeMicrometres: said(settings.pixelSizeMicrometres, 'typed'),
    }, rigFile),
  };
}

/** The rig that was set; one that is kept here was checked before. */
function rigBy({ rig }: Settings): RigInForce | null {
  if (!rig) return null;
  const parsed = attempt(() => parseRig(rig.text, rig.name));
  return parsed instanceof PolewardError ? null : { rig: parsed, path: rig.name, from: 'this page' };
}

export function limitBy(settings: Settings, given: Given): Limit {
  const { limitArcmin } = settings;
  return limitInForce(limitArcmin === null ? undefined : { value: limitArcmin, from: 'typed' }, given.rigFile, plannedLimit(given));
}
