import type { FrameMarks, Leg, StarGoal } from './frameMarks.js';
import type { DialTurn } from './knobDial.js';
import type { Place, Point } from './onSensor.js';

/**
 * Marks that a session kept, read from JSON; null where they are incomplete or of a later version, so that nothing is drawn from half of
 * them.
 */
export function readMarks(value: unknown): FrameMarks | null {
  return isRecord(value) && value['schema'] === 'poleward/marks-1'
    && ['file', 'utc'].every((key) => typeof value[key] === 'string') && Number.isFinite(Date.parse(value['utc'] as string))
    && isSize(value['width']) && isSize(value['height']) && typeof value['firstRowBottom'] === 'boolean'
    && (value['aim'] === 'refracted' || value['aim'] === 'true')
    && ['separationArcmin', 'sigmaArcmin', 'scaleArcsecPerPixel', 'identified'].every((key) => isNumber(value[key]))
    && isList(value['stars'], (s) => isNumbers(s, 3))
    && isPlace(value['rotationCentre']) && isPlace(value['pole']) && isList(value['path'], isLeg)
    && (value['star'] === null || isStarGoal(value['star']))
    && isRecord(value['bar']) && isNumber(value['bar']['pixels']) && typeof value['bar']['says'] === 'string'
    && ['north', 'east', 'up'].every((key) => value[key] === null || isPoint(value[key]))
    && isList(value['dials'], isDial)
    ? value as unknown as FrameMarks : null;
}

type Fields = Readonly<Record<string, unknown>>;

function isStarGoal(value: unknown): value is StarGoal {
  return isRecord(value) && typeof value['name'] === 'string' && typeof value['seen'] === 'boolean'
    && isPlace(value['now']) && isPlace(value['goal']) && isList(value['legs'], isLeg);
}

function isLeg(value: unknown): value is Leg {
  return isRecord(value) && (value['knob'] === null || value['knob'] === 'azimuth' || value['knob'] === 'altitude')
    && isList(value['points'], isPoint);
}

function isDial(value: unknown): value is DialTurn {
  return isRecord(value) && typeof value['name'] === 'string' && typeof value['words'] === 'string'
    && ['leave', 'below', 'tap', 'turn', 'find-direction', 'try'].includes(value['act'] as string)
    && isList(value['steps'], isNumber) && isNumberOrNull(value['turns']) && isNumberOrNull(value['trial']);
}

function isPlace(value: unknown): value is Place {
  return isRecord(value) && ('at' in value ? isPoint(value['at'])
    : isPoint(value['edge']) && isPoint(value['heading']) && isNumber(value['beyondArcmin']));
}

function isPoint(value: unknown): value is Point {
  return isNumbers(value, 2);
}

function isNumbers(value: unknown, length: number): boolean {
  return isList(value, isNumber) && (value as unknown[]).length === length;
}

function isList(value: unknown, each: (item: unknown) => boolean): boolean {
  return Array.isArray(value) && value.every(each);
}

function isRecord(value: unknown): value is Fields {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isSize(value: unknown): boolean {
  return isNumber(value) && Number.isInteger(value) && (value as number) >= 1 && (value as number) <= 1e6;
}

/** No valid number is larger, and what is drawn with it stays readable. */
function isNumber(value: unknown): value is number {
  return typeof value === 'number' && Math.abs(value) < 1e9;
}

function isNumberOrNull(value: unknown): boolean {
  return value === null || isNumber(value);
}
