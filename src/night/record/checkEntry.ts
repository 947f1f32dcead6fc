import { type MeasurementRecord, SESSION_SCHEMA, type SessionEntry } from './entry.js';

/**
 * A value read from JSON as a session entry, or the reason why it is none, in words that end a sentence ("has no time").
 * Checks what the session reads, so that nobody after it needs to; what it does not read is kept as it came.
 */
export function checkEntry(value: unknown): SessionEntry | string {
  if (!isRecord(value)) return 'is no JSON object';
  if (!isTime(value['at'])) return 'has no time';
  // Not what every object has, such as "constructor".
  const check = typeof value['kind'] === 'string' && Object.hasOwn(CHECKS, value['kind']) ? CHECKS[value['kind']] : undefined;
  if (!check) return 'is of a kind that this version does not know';
  return check(value) ? (value as unknown as SessionEntry) : `is no whole ${String(value['kind'])}`;
}

/** Whether a value has the parts of the contract `poleward/measurement-1` that a session reads. */
export function isMeasurementRecord(value: unknown): value is MeasurementRecord {
  if (!isRecord(value) || value['schema'] !== 'poleward/measurement-1') return false;
  const axis = value['axis'];
  return isRecord(axis)
    && isNumberOrNull(axis['altitudeDeg']) && isNumberOrNull(axis['azimuthDeg'])
    && isError(axis['fromTruePole']) && isError(axis['fromRefractedPole']) && isError(axis['sigma'])
    && isAim(axis['aim'])
    && isList(value['frames'], (f) => isRecord(f) && typeof f['file'] === 'string' && typeof f['used'] === 'boolean' && (f['utc'] === null || isTime(f['utc'])))
    && isList(value['knobs'], (k) => isRecord(k) && isKnob(k['knob']) && isNumber(k['arcmin']) && isNumberOrNull(k['turns']))
    && isList(value['warnings'], (w) => isRecord(w) && typeof w['code'] === 'string' && typeof w['message'] === 'string');
}

const CHECKS: Readonly<Record<string, (value: Fields) => boolean>> = {
  start: (v) => v['schema'] === SESSION_SCHEMA && typeof v['version'] === 'string' && (v['site'] === null || isSite(v['site'])) && isHemisphere(v['hemisphere']),
  measurement: (v) => isMeasurementRecord(v['measurement']) && isState(v['state'])
    && (v['how'] === 'rotation' || (v['how'] === 'recheck' && isCount(v['base']))),
  turn: (v) => isKnob(v['knob']) && isNumber(v['turns']) && typeof v['followed'] === 'boolean' && isNumberOrNull(v['expectedArcmin'])
    && (v['direction'] === undefined || typeof v['direction'] === 'string'),
  note: (v) => typeof v['text'] === 'string',
  caution: (v) => typeof v['caution'] === 'string',
};

type Fields = Readonly<Record<string, unknown>>;

function isSite(value: unknown): boolean {
  return isRecord(value) && isNumber(value['latitudeDeg']) && Math.abs(value['latitudeDeg']) <= 90
    && isNumber(value['longitudeDeg']) && isNumber(value['elevationMetres']);
}

function isState(value: unknown): boolean {
  if (!isRecord(value)) return false;
  const lens = value['lens'];
  return isTime(value['utc']) && isNumbers(value['axis'], 3) && isNumbers(value['pose'], 9) && isNumbers(value['covariance'], 4)
    && isCount(value['width']) && isCount(value['height']) && isHemisphere(value['hemisphere']) && isAim(value['aim'])
    && isRecord(lens) && isNumber(lens['focalPixels']) && lens['focalPixels'] > 0 && isNumber(lens['centreX']) && isNumber(lens['centreY'])
    && isList(lens['radial'], isNumber) && typeof lens['mirrored'] === 'boolean';
}

function isError(value: unknown): boolean {
  return isRecord(value) && isNumberOrNull(value['altitudeArcmin']) && isNumberOrNull(value['azimuthArcmin']) && isNumber(value['separationArcmin']);
}

function isRecord(value: unknown): value is Fields {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isList(value: unknown, each: (item: unknown) => boolean): boolean {
  return Array.isArray(value) && value.every(each);
}

function isNumbers(value: unknown, length: number): boolean {
  return isList(value, isNumber) && (value as unknown[]).length === length;
}

function isNumber(value: unknown): value is number {
  return typeof value === 'number' && Number.isFinite(value);
}

function isNumberOrNull(value: unknown): boolean {
  return value === null || isNumber(value);
}

function isCount(value: unknown): boolean {
  return isNumber(value) && Number.isInteger(value) && value >= 1;
}

function isTime(value: unknown): boolean {
  return typeof value === 'string' && Number.isFinite(Date.parse(value));
}

function isHemisphere(value: unknown): boolean {
  return value === 1 || value === -1;
}

function isAim(value: unknown): boolean {
  return value === 'refracted' || value === 'true';
}

function isKnob(value: unknown): boolean {
  return value === 'azimuth' || value === 'altitude';
}
