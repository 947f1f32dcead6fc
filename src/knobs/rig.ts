import { createScanner, type ParseError, parseTree, printParseErrorCode, type Node, getNodeValue, SyntaxKind } from 'jsonc-parser';
import { PolewardError } from '../error.js';
import { isZoneName } from '../frames/cameraZone.js';
import { printable } from '../printable.js';
import { checkSchema, type Fault } from './checkSchema.js';
import { hemisphereOfSites } from './hemisphereOfSites.js';
import { RIG_SCHEMA } from './rigSchema.js';
import { threadPitch } from './threads.js';

export type KnobName = 'azimuth' | 'altitude';

/** What the rig file says of one knob. Units as in its schema (`RIG_SCHEMA`). */
export interface RigKnob {
  readonly arcminPerTurn?: number;
  readonly screwPitchMillimetres?: number;
  /** ISO metric, "M8" or "M8x1". */
  readonly thread?: string;
  readonly leverArmMillimetres?: number;
  readonly name?: string;
  /** The smallest part of a turn that the hand can set. */
  readonly smallestTurn?: number;
  /** Turns lost on reversing. */
  readonly backlashTurns?: number;
}

export interface AzimuthKnob extends RigKnob {
  /**
   * Where the axis' elevated end goes when the knob, seen facing it, is turned clockwise: to the left or right of a person who faces the
   * pole. East and west hold for the file's own site only.
   */
  readonly clockwise?: 'left' | 'right' | 'east' | 'west';
  /** Two opposing screws; `clockwise` is then about tightening `screw` while the other is loosened as much. */
  readonly pushPull?: true;
  /** As one stands behind the mount and faces the pole. */
  readonly screw?: 'left' | 'right';
}

export interface AltitudeKnob extends RigKnob {
  readonly clockwise?: 'raise' | 'lower';
}

/** A place where the rig is used. */
export interface RigSite {
  readonly latitudeDeg: number;
  /** East positive. */
  readonly longitudeDeg: number;
  readonly elevationMetres?: number;
  readonly skyMagnitude?: number;
}

/** A rig file, `poleward/rig-1`. Everything may be absent. */
export interface Rig {
  readonly schema?: 'poleward/rig-1';
  readonly name?: string;
  readonly site?: RigSite;
  /** Further sites by the names that the person gave them. */
  readonly sites?: Readonly<Record<string, RigSite>>;
  readonly clock?: {
    /** "±HH:MM" east of UTC: the zone that the camera's clock is set to. */
    readonly utcOffset?: string;
    /** Its name in the IANA time-zone database instead: Europe/Madrid. */
    readonly zone?: string;
    /** Seconds that the clock is ahead. */
    readonly offsetSeconds?: number;
  };
  readonly camera?: {
    readonly pixelSizeMicrometres?: number;
    readonly focalLengthMillimetres?: number;
    readonly apertureMillimetres?: number;
    /** Size of the stored picture: both or neither. */
    readonly widthPixels?: number;
    readonly heightPixels?: number;
    readonly readNoiseElectrons?: number;
  };
  readonly mount?: { readonly capacityKilograms?: number; readonly payloadKilograms?: number };
  readonly knobs?: { readonly azimuth?: AzimuthKnob; readonly altitude?: AltitudeKnob };
  /** Near enough to the pole, arcminutes. */
  readonly limitArcmin?: number;
  /** The run that is planned: what it allows is the limit where none is given. */
  readonly plannedRun?: PlannedRun;
}

/** A run of exposures: a target, for how long, and whether the mount is guided. */
export interface PlannedRun {
  readonly declinationDeg: number;
  /** At the start of the run, west positive. */
  readonly hourAngleHours: number;
  readonly hours: number;
  readonly exposureSeconds: number;
  /** How far the guide star is from the middle of the field; absent where the run is not guided. */
  readonly guideOffsetDeg?: number;
  /** Longest trail that is allowed, pixels; one where absent. */
  readonly limitPixels?: number;
}

/** Number of faults shown at once; the first ones usually cause the rest. */
const MOST_FAULTS = 5;
/** Deepest nesting of objects and lists that is parsed. */
const DEEPEST = 50;
/** Characters of a field's name shown; in a damaged file half of the text may be one name. */
const LONGEST_FIELD = 80;

/**
 * The rig from the text of its file: JSON, with comments and trailing commas allowed. Throws PolewardError `rig-broken`, which gives for
 * each fault its line, its field and what was expected.
 * @param file how the file is called in the error
 */
export function parseRig(text: string, file = 'the rig file'): Rig {
  const clean = text.replace(/^\uFEFF/, '');
  const deep = tooDeep(clean);
  if (deep !== null) throw broken(
    file, clean, [{ offset: deep, field: '', says: `goes more than ${DEEPEST} levels deep; expected three` }],
  );
  const errors: ParseError[] = [];
  const tree = parseTree(clean, errors, { allowTrailingComma: true });
  if (errors.length > 0 || !tree) throw broken(file, clean, [syntaxFault(clean, errors[0], tree)]);
  const faults = checkSchema(tree, RIG_SCHEMA);
  if (faults.length === 0) faults.push(...threadFaults(tree), ...zoneFaults(tree), ...wayFaults(tree));
  if (faults.length > 0) throw broken(file, clean, faults);
  return getNodeValue(tree) as Rig;
}

/**
 * The place where brackets are first nested deeper than in any rig file, which would overflow the parser's stack; null where they aren't.
 */
function tooDeep(text: string): number | null {
  const scanner = createScanner(text, true);
  let depth = 0;
  for (let token = scanner.scan(); token !== SyntaxKind.EOF; token = scanner.scan()) {
    if (token === SyntaxKind.OpenBraceToken || token === SyntaxKind.OpenBracketToken) depth++;
    else if (token === SyntaxKind.CloseBraceToken || token === SyntaxKind.CloseBracketToken) depth--;
    if (depth > DEEPEST) return scanner.getTokenOffset();
  }
  return null;
}

/** A thread that has the right form but does not exist: M8.5, M8x9. */
function threadFaults(tree: Node): Fault[] {
  const { knobs } = getNodeValue(tree) as Rig;
  return (['azimuth', 'altitude'] as const).flatMap((name) => {
    const thread = knobs?.[name]?.thread;
    if (thread === undefined || threadPitch(thread) !== null) return [];
    return [{
      offset: offsetOf(tree, ['knobs', name, 'thread']), field: `knobs.${name}.thread`,
      says: `is "${thread}", not in the coarse series (M3 to M24); expected such as "M8", or with its pitch "M8x1"`,
    }];
  });
}

/** A zone that is not in the platform's time-zone data. */
function zoneFaults(tree: Node): Fault[] {
  const zone = (getNodeValue(tree) as Rig).clock?.zone;
  if (zone === undefined || isZoneName(zone)) return [];
  return [{
    offset: offsetOf(tree, ['clock', 'zone']), field: 'clock.zone',
    says: `is "${zone}", which is not a time zone; expected its name such as "Europe/Madrid"`,
  }];
}

/** East and west of a knob where the sites are on both sides of the equator. */
function wayFaults(tree: Node): Fault[] {
  const rig = getNodeValue(tree) as Rig;
  const way = rig.knobs?.azimuth?.clockwise;
  const several = !rig.site && Object.keys(rig.sites ?? {}).length > 1;
  if ((way !== 'east' && way !== 'west') || !several || hemisphereOfSites(rig)) return [];
  return [{
    offset: offsetOf(tree, ['knobs', 'azimuth', 'clockwise']), field: 'knobs.azimuth.clockwise',
    says: `is "${way}", but the sites are on both sides of the equator; expected "left" or "right", as seen facing the pole`,
  }];
}

/** Where a field's value stands in the text. */
function offsetOf(tree: Node, field: readonly string[]): number {
  const within = (at: Node | undefined, key: string): Node | undefined =>
    at?.children?.find((p) => p.children?.[0]?.value === key)?.children?.[1];
  return field.reduce(within, tree)?.offset ?? 0;
}

function syntaxFault(text: string, error: ParseError | undefined, tree: Node | undefined): Fault {
  if (!error || text.trim() === '') return { offset: 0, field: '', says: 'is empty; expected a JSON object, which begins with {' };
  const expected: Record<string, string> = {
    PropertyNameExpected: 'a field name in double quotes', ColonExpected: 'a colon after the field name',
    CommaExpected: 'a comma between two fields', ValueExpected: 'a value after the colon',
    CloseBraceExpected: 'a closing }', CloseBracketExpected: 'a closing ]', EndOfFileExpected: 'nothing after the closing }',
    InvalidSymbol: 'a number, true, false or text in double quotes', InvalidNumberFormat: 'a number such as 39.2',
    UnexpectedEndOfString: 'a double quote at the end of the text', UnexpectedEndOfComment: '*/ at the end of the comment',
    InvalidUnicode: 'a character code of four digits after \\u',
    InvalidEscapeCharacter: 'one of " \\ / b f n r t u after a backslash (write folders with /)',
    InvalidCharacter: 'no control characters in text',
  };
  return {
    offset: error.offset, field: fieldAt(tree, error.offset),
    says: `is not JSON here; expected ${expected[printParseErrorCode(error.error)] ?? 'JSON'}`,
  };
}

/** The field around a place: the deepest property that holds it. */
function fieldAt(tree: Node | undefined, offset: number): string {
  const names: string[] = [];
  let at = tree;
  while (at) {
    const inside: Node | undefined = at.children?.filter((c) => c.offset <= offset).at(-1);
    if (inside?.type === 'property' && inside.children?.[0]) {
      names.push(String(inside.children[0].value));
      at = inside.children[1];
    } else {
      at = undefined;
    }
  }
  return names.join('.');
}

function broken(file: string, text: string, faults: readonly Fault[]): PolewardError {
  const line = (offset: number): number => text.slice(0, offset).split(/\r\n|\r|\n/).length;
  const shown = faults.slice(0, MOST_FAULTS).map(({ offset, field, says }) =>
    `line ${line(offset)}: ${field === '' ? 'the file' : printable(field, LONGEST_FIELD)} ${printable(says)}.`);
  if (faults.length > MOST_FAULTS) shown.push(`… and ${faults.length - MOST_FAULTS} more.`);
  return new PolewardError(
    'rig-broken', `${file} is not a valid rig file. Correct this:\n${shown.join('\n')}`, { remedies: ['rig-schema'] },
  );
}
