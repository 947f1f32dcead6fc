import { norm } from '../../geometry/vector.js';
import { apply, inverse } from '../../geometry/rotation.js';
import { type MeasurementRecord, OLD_SCHEMA, SESSION_SCHEMA, type SessionEntry } from './entry.js';
import { LONGEST_EXPOSURE } from '../look.js';

/**
 * A value read from JSON as a session entry, or the reason why it is not one, in words that end a sentence ("has no time"). Checks all that
 * the session reads, so that nothing after it needs to; what it does not read is kept as it came.
 */
export function checkEntry(value: unknown): SessionEntry | string {
  if (!isRecord(value)) return 'is not a JSON object';
  if (!isTime(value['at'])) return 'has no time';
  // Not a property that every object has, such as "constructor".
  const check = typeof value['kind'] === 'string' && Object.hasOwn(CHECKS, value['kind']) ? CHECKS[value['kind']] : undefined;
  if (!check) return 'is of a kind that this version does not know';
  return check(value) ? (value as unknown as SessionEntry) : `is not a complete ${String(value['kind'])}`;
}

/** Whether a value has the parts of the contract `poleward/measurement-1` that a session reads. */
export function isMeasurementRecord(value: unknown): value is MeasurementRecord {
  if (!isRecord(value) || value['schema'] !== 'poleward/measurement-1') return false;
  const axis = value['axis'];
  return isRecord(axis)
    && isNumberOrNull(axis['altitudeDeg']) && isNumberOrNull(axis['azimuthDeg'])
    && isError(axis['fromTruePole']) && isError(axis['fromRefractedPole']) && isError(axis['sigma'])
    && isAim(axis['aim'])
    && isList(
      value['frames'],
      (f) => isRecord(f) && typeof f['file'] === 'string' && typeof f['used'] === 'boolean' && (f['utc'] === null || isTime(f['utc'])),
    )
    && isList(value['knobs'], (k) => isRecord(k) && isKnob(k['knob']) && isNumber(k['arcmin']) && isNumberOrNull(k['turns']))
    && isList(value['warnings'], (w) => isRecord(w) && typeof w['code'] === 'string' && typeof w['message'] === 'string')
    && (value['doubts'] === undefined
      || isList(value['doubts'], (d) => isRecord(d) && typeof d['message'] === 'string' && typeof d['settle'] === 'string'));
}

const CHECKS: Readonly<Record<string, (value: Fields) => boolean>> = {
  start: (v) => (v['schema'] === SESSION_SCHEMA || v['schema'] === OLD_SCHEMA) && typeof v['version'] === 'string' && (v['site'] === null
    || isSite(v['site'])) && isHemisphere(v['hemisphere'])
    && (v['remembered'] === undefined || isCamera(v['remembered'])),
  look: (v) => isLook(v['look']) && typeof v['frame'] === 'string' && (v['replaces'] === undefined || isTime(v['replaces'])),
  answer: (v) => isMeasurementRecord(v['measurement']) && isTime(v['utc']) && (v['camera'] === undefined || isCamera(v['camera'])),
  measurement: (v) => isMeasurementRecord(v['measurement']) && isState(v['state']) && (v['how'] === 'rotation' || v['how'] === 'recheck'),
  turn: (v) => isKnob(v['knob']) && isNumber(v['turns']) && typeof v['followed'] === 'boolean' && isNumberOrNull(v['expectedArcmin'])
    && (v['direction'] === undefined || typeof v['direction'] === 'string'),
  note: (v) => typeof v['text'] === 'string',
  caution: (v) => typeof v['caution'] === 'string',
};

type Fields = Readonly<Record<string, unknown>>;

function isSite(value: unknown): boolean {
  return isRecord(value) && isNumber(value['latitudeDeg']) && Math.abs(value['latitudeDeg']) <= 90
    && isWithin(value['longitudeDeg'], 360) && isWithin(value['elevationMetres'], 10_000)
    && (value['pressureHectopascal'] === undefined || isWithin(value['pressureHectopascal'], 1200))
    && (value['temperatureCelsius'] === undefined || isWithin(value['temperatureCelsius'], 100));
}

function isState(value: unknown): boolean {
  if (!isRecord(value)) return false;
  return isTime(value['utc']) && isDirection(value['axis']) && isRotation(value['pose']) && isCovariance(value['covariance'])
    && isCount(value['width']) && isCount(value['height']) && isHemisphere(value['hemisphere']) && isAim(value['aim']) && isLens(
      value['lens'],
    );
}

function isLook(value: unknown): boolean {
  if (!isRecord(value)) return false;
  return typeof value['file'] === 'string' && isTime(value['utc']) && isCount(value['width']) && isCount(value['height'])
    && isExposure(value['exposureSeconds']) && isRotation(value['pose']) && isLens(value['lens']) && isStars(value['stars'])
    && (value['said'] === undefined || isSaid(value['said']));
}

function isExposure(value: unknown): boolean {
  return value === undefined || (typeof value === 'number' && value > 0 && value <= LONGEST_EXPOSURE);
}

/** Columns of one length, every number in its range. */
function isStars(value: unknown): boolean {
  if (!isRecord(value) || !Array.isArray(value['number'])) return false;
  const { length } = value['number'];
  const within = (column: unknown, least: number, most: number): boolean =>
    isNumbers(column, length) && (column as number[]).every((v) => v >= least && v <= most);
  return length <= MOST_STARS && within(value['number'], 0, 1e8) && new Set(value['number']).size === length
    && within(value['raDeg'], 0, 360) && within(value['decDeg'], -90, 90) && within(value['catalogueArcsec'], 1e-6, 60)
    && within(value['x'], -1, MOST_PIXELS) && within(value['y'], -1, MOST_PIXELS) && within(value['sigma'], 1e-6, 100) && within(
      value['blended'], 0, 1,
    );
}

function isCamera(value: unknown): boolean {
  return isRecord(value) && isDirection(value['centre']) && isCovariance(value['covariance']) && isLens(value['lens'])
    && isCount(value['width']) && isCount(value['height']) && isTime(value['utc']) && (value['from'] === 'tonight'
      || value['from'] === 'earlier-night');
}

/** More stars than a look keeps; more pixels than a side has. */
const MOST_STARS = 10_000;
const MOST_PIXELS = 1e6;

function isSaid(value: unknown): boolean {
  return isRecord(value) && (value['did'] === 'turned-only' || value['did'] === 'knobs') && isList(value['knobs'], isKnob);
}

function isLens(value: unknown): boolean {
  return isRecord(value) && isNumber(value['focalPixels']) && value['focalPixels'] > 1 && value['focalPixels'] < 1e9
    && isWithin(value['centreX'], 1e6) && isWithin(value['centreY'], 1e6) && isList(
      value['radial'], (k) => isWithin(k, 1e6),
    ) && (value['tangential'] === undefined || isPair(value['tangential'])) && typeof value['mirrored'] === 'boolean';
}

function isPair(value: unknown): boolean {
  return isList(value, (k) => isWithin(k, 1e6)) && (value as readonly unknown[]).length === 2;
}

function isWithin(value: unknown, most: number): boolean {
  return isNumber(value) && Math.abs(value) <= most;
}

/** Rounding leaves a direction this near to length 1, and a rotation's transpose this near to its inverse. */
const ROUNDING = 1e-6;

function isDirection(value: unknown): boolean {
  return isNumbers(value, 3) && Math.abs(norm(value as [number, number, number]) - 1) < ROUNDING;
}

function isRotation(value: unknown): boolean {
  if (!isNumbers(value, 9)) return false;
  const r = value as unknown as Parameters<typeof inverse>[0];
  const determinant = r[0] * (r[4] * r[8] - r[5] * r[7]) - r[1] * (r[3] * r[8] - r[5] * r[6]) + r[2] * (r[3] * r[7] - r[4] * r[6]);
  return Math.abs(determinant - 1) < ROUNDING && ([[1, 0, 0], [0, 1, 0], [0, 0, 1]] as const)
    .every((e) => norm(apply(r, apply(inverse(r), e)).map((x, i) => x - e[i]!) as [number, number, number]) < ROUNDING);
}

/** Symmetric, positive definite, of angles: no variance above a square radian. */
function isCovariance(value: unknown): boolean {
  if (!isNumbers(value, 4)) return false;
  const [a, b, c, d] = value as [number, number, number, number];
  return a > 0 && d > 0 && a < 1 && d < 1 && Math.abs(b - c) <= 1e-6 * Math.sqrt(a * d) && a * d - b * c > 0;
}

function isError(value: unknown): boolean {
  return isRecord(value) && isNumberOrNull(value['altitudeArcmin']) && isNumberOrNull(value['azimuthArcmin'])
    && isNumber(value['separationArcmin']);
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
