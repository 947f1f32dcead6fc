import { parseTree } from 'jsonc-parser';
import { isZoneName } from '../../frames/cameraZone.js';
import { decimalNumber, withPoint } from '../../frames/decimalText.js';
import { parseDegrees } from '../../frames/sexagesimal.js';
import { checkSchema } from '../../knobs/checkSchema.js';
import type { Rig } from '../../knobs/rig.js';
import { RIG_SCHEMA, RIG_SCHEMA_NAME, type Schema } from '../../knobs/rigSchema.js';
import { threadPitch } from '../../knobs/threads.js';

/** One question for the making of a rig file. */
export interface Question {
  /** Where the answer goes in the rig file. */
  readonly field: readonly string[];
  readonly ask: string;
  readonly why: string;
  /** Text to the value of the file; a number if absent and the schema wants one. */
  readonly read?: (text: string) => unknown;
  /** Another place in the file for this answer. */
  readonly instead?: { readonly field: readonly string[]; readonly is: (value: unknown) => boolean };
  /** What is said to be expected; if absent, the schema's limits. */
  readonly expected?: string;
  /** Only asked if this holds for the earlier answers. */
  readonly only?: (answers: Answers) => boolean;
}

/** Answers so far by field, "knobs.azimuth.clockwise". */
export type Answers = ReadonlyMap<string, unknown>;

const degrees = (text: string): unknown => {
  const plain = withPoint(text.trim());
  const value = parseDegrees(/^[+-]?[\d.]+$/.test(plain) ? Number(plain) : plain);
  return Number.isFinite(value) ? value : text;
};
const lower = (text: string): string => text.toLowerCase();
const zone = (text: string): string => (isZoneName(text) ? text : text.toUpperCase());
const yes = (text: string): unknown => (/^y$/i.test(text) ? true : /^n$/i.test(text) ? SKIPPED : text);

/** An answer that means the same as Enter. */
export const SKIPPED = Symbol('skipped');

function travelQuestions(knob: 'azimuth' | 'altitude', said: string): Question[] {
  const field = (name: string): string[] => ['knobs', knob, name];
  const has = (answers: Answers, name: string): boolean => answers.has(`knobs.${knob}.${name}`);
  return [
    {
      field: field('arcminPerTurn'), ask: `How many arcminutes does one turn of ${said} move the axis?`,
      why: 'with it the advice is in turns. Skip it if you don\'t know: screw and arm will do, or it is learned from your first turn',
    },
    {
      field: field('thread'), ask: 'Which thread has its screw (M8, or fine: M8x1)?',
      why: 'a turn moves the axis by the pitch over the lever arm',
      read: (text) => text.toUpperCase().replace('X', 'x'), expected: 'a thread from M3 to M24, such as M8 or M8x1',
      only: (answers) => !has(answers, 'arcminPerTurn'),
    },
    {
      field: field('leverArmMillimetres'), ask: 'How many mm from the pivot does that screw push?',
      why: 'the other half of it; without the arm the thread says nothing',
      only: (answers) => has(answers, 'thread'),
    },
  ];
}

export const QUESTIONS: readonly Question[] = [
  { field: ['name'], ask: 'What do you call this rig?', why: 'only so that you know which one it is' },
  {
    field: ['site', 'latitudeDeg'], ask: 'Latitude (39.2, or 39 12 N)?',
    why: 'without the site there is no altitude or azimuth, only a distance', read: degrees,
    expected: 'degrees from -90 to 90, north positive',
  },
  {
    field: ['site', 'longitudeDeg'], ask: 'Longitude, east positive (-3.4, or 3 24 W)?',
    why: 'the other half of the site; without it the latitude is dropped', read: degrees,
    expected: 'degrees from -180 to 360, east positive',
    only: (answers) => answers.has('site.latitudeDeg'),
  },
  {
    field: ['site', 'elevationMetres'], ask: 'Metres above the sea?',
    why: 'the air above you lifts the pole; a hundred metres hardly matter', only: (answers) => answers.has('site.longitudeDeg'),
  },
  {
    field: ['clock', 'utcOffset'], ask: 'Which zone is the camera\'s clock set to (Europe/Madrid, +02:00, Z for UTC)?',
    why: 'photos often carry a clock time and no zone; an hour wrong is 15° of sky. By a name daylight saving goes by the date', read: zone,
    instead: { field: ['clock', 'zone'], is: (value) => isZoneName(String(value)) },
    expected: 'a name such as Europe/Madrid, or an offset such as +02:00',
  },
  {
    field: ['clock', 'offsetSeconds'], ask: 'How many seconds is that clock ahead (behind: minus)?',
    why: 'a minute is a quarter degree of sky; skip it if it is right to some seconds',
  },
  {
    field: ['camera', 'pixelSizeMicrometres'], ask: 'Pixel size in µm?', why: 'with the focal length it makes the search for stars quicker',
  },
  { field: ['camera', 'focalLengthMillimetres'], ask: 'Focal length in mm?', why: 'likewise; a wrong value does no harm' },
  {
    field: ['knobs', 'azimuth', 'name'], ask: 'What do you call the azimuth knob, or where does it sit?', why: 'the advice will name it so',
  },
  {
    field: ['knobs', 'azimuth', 'pushPull'], ask: 'Do two opposing screws move azimuth (y, n)?',
    why: 'then one is loosened before the other is tightened', read: yes, expected: 'y or n',
  },
  {
    field: ['knobs', 'azimuth', 'screw'], ask: 'Which of the two do you mean next, facing the pole (left, right)?',
    why: 'tightening the other does the opposite', read: lower, only: (answers) => answers.has('knobs.azimuth.pushPull'),
  },
  {
    field: ['knobs', 'azimuth', 'clockwise'],
    ask: 'Turned clockwise as you face it, where does the axis\' upper end go, as you face the pole (left, right)?',
    why: 'so that the advice can say clockwise or counter-clockwise', read: lower,
  },
  ...travelQuestions('azimuth', 'the azimuth knob'),
  {
    field: ['knobs', 'altitude', 'name'], ask: 'What do you call the altitude knob, or where does it sit?',
    why: 'the advice will name it so',
  },
  {
    field: ['knobs', 'altitude', 'clockwise'], ask: 'Turned clockwise as you face it, what does the axis do (raise, lower)?',
    why: 'so that the advice can say clockwise or counter-clockwise', read: lower,
  },
  ...travelQuestions('altitude', 'the altitude knob'),
  {
    field: ['camera', 'apertureMillimetres'], ask: 'Aperture of the telescope or lens in mm?',
    why: 'poleward prepare suggests an exposure by it',
  },
  {
    field: ['camera', 'widthPixels'], ask: 'How many pixels has a row of your frames?',
    why: 'for the field of view, and with it exposure and rotation',
  },
  {
    field: ['camera', 'heightPixels'], ask: 'And how many rows?', why: 'the other half of it; without it the width is dropped',
    only: (answers) => answers.has('camera.widthPixels'),
  },
  {
    field: ['mount', 'capacityKilograms'], ask: 'How many kg is the mount rated for?', why: 'poleward prepare compares the payload with it',
  },
  {
    field: ['mount', 'payloadKilograms'], ask: 'How many kg does it carry, counterweights not counted?', why: 'the other half of it',
    only: (answers) => answers.has('mount.capacityKilograms'),
  },
];

/** An answer as it is written into the rig file. */
export interface Answer {
  readonly value: unknown;
  readonly field: readonly string[];
}

/** The value of an answer, or what was expected instead. */
export function readAnswer(question: Question, text: string): Answer | { readonly expected: string } {
  const { read, instead } = question;
  const type = schemaOf(question.field).type;
  const value = read ? read(text) : type === 'number' ? decimalNumber(text) : text;
  const field = instead?.is(value) ? instead.field : question.field;
  if (value === SKIPPED) return { value, field };
  const schema = schemaOf(field);
  // NaN can't be written as JSON; the error shows what was typed.
  const shown = typeof value === 'number' && !Number.isFinite(value) ? text : value;
  const fine = checkSchema(parseTree(JSON.stringify(shown))!, schema).length === 0
    && (field.at(-1) !== 'thread' || threadPitch(String(shown)) !== null);
  return fine ? { value, field } : { expected: question.expected ?? expectedBy(schema) };
}

function schemaOf(field: readonly string[]): Schema {
  return field.reduce<Schema>((at, name) => at.properties![name]!, RIG_SCHEMA);
}

/** What a schema accepts, in words for a person. */
function expectedBy({ type, enum: some, minimum, maximum, exclusiveMinimum, minLength = 0, maxLength }: Schema): string {
  if (some) return some.join(' or ');
  if (type === 'number') return `a number ${minimum === undefined ? `above ${exclusiveMinimum}` : `from ${minimum}`} to ${maximum}`;
  return `${minLength} to ${maxLength} letters`;
}

/** The rig of the answers; answers that need a skipped one are left out with it, and named. */
export function rigFromAnswers(answers: Answers): { readonly rig: Rig; readonly dropped: readonly string[] } {
  const dropped: string[] = [];
  const rig: Record<string, unknown> = { schema: RIG_SCHEMA_NAME };
  const has = (field: string): boolean => answers.has(field);
  for (const field of QUESTIONS.flatMap((q) => [q.field, ...(q.instead ? [q.instead.field] : [])])) {
    const name = field.join('.');
    if (!has(name)) continue;
    const knob = field.slice(0, 2).join('.');
    if ((field[0] === 'site' && !(has('site.latitudeDeg') && has('site.longitudeDeg')))
      || (field[1] === 'widthPixels' && !has('camera.heightPixels'))
      || (field[2] === 'thread' && !has(`${knob}.leverArmMillimetres`))
      || ((field[2] === 'pushPull' || field[2] === 'screw') && !(has(`${knob}.screw`) && has(`${knob}.clockwise`)))) {
      dropped.push(name);
      continue;
    }
    let at = rig;
    for (const part of field.slice(0, -1)) at = (at[part] ??= {}) as Record<string, unknown>;
    at[field.at(-1)!] = answers.get(name);
  }
  return { rig: rig as Rig, dropped };
}
