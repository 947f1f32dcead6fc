import { ARCMINUTE } from '../../geometry/angle.js';
import { angleWords, plusMinus, uncertainty } from '../../geometry/angleWords.js';
import { happenedWords } from '../../night/happenings.js';
import { moveWords } from '../../night/motions.js';
import { printable } from '../../printable.js';
import type { Knob, NoteEntry, StartEntry, TurnEntry } from '../../night/record/entry.js';
import { type AxisChange, type KnobEffect, type LookTold, type Story, isBeyondChance, lastKnown } from '../../night/record/story.js';
import { type TextStyle, verdictText } from '../measure/measurementText.js';
import type { StandingAnswer } from '../measure/standingAnswer.js';
import { signed, wrap } from '../words/numberWords.js';

/** The share of what was expected is given only where the turn moved the axis by well more than its error. */
const SIGMAS_FOR_SHARE = 5;

/**
 * The night for a person: the last answer, how the error decreased, what to do next; then each look with what was done before it.
 *
 * @param todo what to do next: verdict and next step; empty where that is not known
 */
export function logText(start: StartEntry, story: Story, width = 60, todo = ''): string {
  return [
    standing(story, width), ...(todo === '' ? [] : [todo]),
    [place(start), ...story.looks.map((look, i) => lookText(look, i + 1, width)), sinceText(story, width)].filter(
      (part) => part !== '',
    ).join('\n\n'),
  ].join('\n\n');
}

/** The last answer. */
export function standing(story: Story, width = 60): string {
  const last = lastKnown(story);
  if (!last) return 'nothing measured yet';
  const off = `${arcmin(last.error.separationArcmin, last.sigma.separationArcmin)} `
    + `± ${uncertainty(last.sigma.separationArcmin * ARCMINUTE)} off the ${story.aim} pole, ${clock(last.utc).slice(0, 5)} UTC`;
  const lines = story.turnsSince.length > 0 ? ['a knob was turned since the last look: look again', `before: ${off}`] : [`now ${off}`];
  const parts = errorParts(last);
  if (parts !== '') lines.push(parts);
  const course = courseText(story);
  if (course !== '') lines.push(wrap(course, width, '  '));
  for (const { message, settle } of last.doubts) lines.push(wrap(`in doubt: ${message} ${settle}`, width, '  '));
  return lines.join('\n');
}

/** What stands to be done: the verdict's knobs and the next step; nothing where a knob was turned since, whose look must come first. */
export function todoText({ turnsSince }: Story, { said, site }: StandingAnswer, style: TextStyle): string {
  if (turnsSince.length > 0) return '';
  const verdict = site ? verdictText(said, style) : '';
  return `${verdict === '' ? '' : `${verdict}\n\n`}${wrap(`next: ${said.next.words}`, style.width, '  ')}`;
}

/** How the error decreased: one number for each direction of the axis. */
function courseText({ looks }: Story): string {
  const stands = looks.filter((l, i) => l.error && (i === 0 || l.happened === null || l.moved === null || isBeyondChance(l.moved)));
  if (stands.length < 2) return '';
  const shown = stands.slice(-6).map((l) => arcmin(l.error!.separationArcmin, l.sigma!.separationArcmin));
  const course = `${stands.length > 6 ? '… → ' : ''}${shown.join(' → ')} in ${looks.length} looks`;
  const [before, last] = stands.slice(-2);
  const change = last!.error!.separationArcmin - before!.error!.separationArcmin;
  const error = Math.hypot(last!.sigma!.separationArcmin, before!.sigma!.separationArcmin);
  return change > 3 * error ? `${course}; the last move made it worse` : course;
}

/** When and where the session was begun. */
export function place({ at, site }: StartEntry): string {
  const where = site ? `, ${degrees(site.latitudeDeg, 'N', 'S')} ${degrees(site.longitudeDeg, 'E', 'W')}` : ', site unknown';
  return `session begun ${at.slice(0, 10)} ${clock(at).slice(0, 5)} UTC${where}`;
}

function degrees(value: number, positive: string, negative: string): string {
  return `${Math.abs(value).toFixed(2)}° ${value < 0 ? negative : positive}`;
}

/** One look, with what was done before it. `number` counts from 1. */
export function lookText(look: LookTold, number: number, width = 60): string {
  const { error, sigma, file, utc, happened } = look;
  const off = error && sigma ? `${arcmin(error.separationArcmin, sigma.separationArcmin)} off` : 'no answer yet';
  const lines = [
    ...doneText(look.turns, look.notes, width),
    wrap(`${clock(utc)}  look ${number}, ${printable(file)}: ${off}`, width, '  '),
    ...(happened && look.effects.length === 0 ? [indent(happenedWords(happened), width)] : []),
    indent(errorParts(look), width),
    ...effectLines(look).map((line) => indent(line, width)),
    ...(look.correction ? [indent(`Corrected: ${look.correction}`, width)] : []),
  ];
  return lines.filter((line) => line.trim() !== '').join('\n');
}

/** What was done before a look, in the order in which it was recorded. */
function doneText(turns: readonly TurnEntry[], notes: readonly NoteEntry[], width: number): string[] {
  return [...turns, ...notes]
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at))
    .map((entry) => hanging(`${clock(entry.at)}  `, printable(entry.kind === 'turn' ? turnText(entry) : `note: ${entry.text}`), width));
}

function turnText({ knob, turns, direction, followed, expectedArcmin }: TurnEntry): string {
  const size = Math.abs(turns).toFixed(2);
  const count = direction === undefined
    ? `${size} ${Math.abs(turns) > 1 ? 'turns' : 'turn'} ${turns < 0 ? 'counter-clockwise' : 'clockwise'}`
    : `${turns < 0 ? '−' : '+'}${size} ${Math.abs(turns) > 1 ? 'turns' : 'turn'} (+ is ${direction})`;
  const expected = expectedArcmin === null ? '' : `, to move it ${moveWords(knob, expectedArcmin * ARCMINUTE, 0.05 * ARCMINUTE)}`;
  return `turned ${knob} ${count}${expected}${followed ? ' (advice taken as followed)' : ''}`;
}

function effectLines({ moved, effects, happened }: LookTold): string[] {
  if (!moved) return [];
  const lines = effects.map(effectText);
  if (effects.length === 0 && happened === null && isBeyondChance(moved)) lines.push(`the axis moved ${both(moved)}, and no turn was `
    + `recorded`);
  for (const knob of ['azimuth', 'altitude'] as const) {
    const [change, sigma] = partOf(moved, knob);
    if (effects.length > 0 && !effects.some((e) => e.knob === knob) && Math.abs(change) > 3 * sigma) {
      lines.push(`${knob} also moved by ${words(knob, change, sigma)}, though not turned`);
    }
  }
  return lines;
}

function partOf(moved: AxisChange, knob: Knob): readonly [number, number] {
  return knob === 'azimuth' ? [moved.azimuthArcmin, moved.azimuthSigmaArcmin] : [moved.altitudeArcmin, moved.altitudeSigmaArcmin];
}

function effectText({ knob, expectedArcmin, movedArcmin, sigmaArcmin }: KnobEffect): string {
  const did = `${knob} moved ${words(knob, movedArcmin, sigmaArcmin)} ${plusMinus(sigmaArcmin * ARCMINUTE)}`;
  if (expectedArcmin === null || expectedArcmin === 0) return did;
  const share = movedArcmin / expectedArcmin;
  const verdict = Math.abs(movedArcmin) <= 3 * sigmaArcmin ? ': it did not move'
    : share < 0 ? ': the other way'
      : Math.abs(movedArcmin) > SIGMAS_FOR_SHARE * sigmaArcmin ? `: ${Math.round(100 * share)} %` : '';
  return `${did}, expected ${words(knob, expectedArcmin, 0.05)}${verdict}`;
}

function both(moved: AxisChange): string {
  return (['altitude', 'azimuth'] as const).map((knob) => words(knob, ...partOf(moved, knob))).join(', ');
}

/** "25.0′ east", "3.1′ down": the knob's own angle, in either hemisphere. */
function words(knob: Knob, change: number, sigma: number): string {
  return moveWords(knob, change * ARCMINUTE, sigma * ARCMINUTE);
}

function errorParts({ error, sigma }: LookTold): string {
  if (!error || !sigma) return '';
  const { altitudeArcmin: up, azimuthArcmin: east } = error;
  const { altitudeArcmin: upSigma, azimuthArcmin: eastSigma } = sigma;
  if (up === null || east === null || upSigma === null || eastSigma === null) return '';
  return `altitude ${signed(arcmin(up, upSigma))} ${plusMinus(upSigma * ARCMINUTE)}, azimuth ${signed(arcmin(east, eastSigma))} `
    + `${plusMinus(eastSigma * ARCMINUTE)}`;
}

/** What was done after the last look; empty if nothing. */
export function sinceText({ turnsSince, notesSince }: Story, width = 60): string {
  return doneText(turnsSince, notesSince, width).join('\n');
}

function arcmin(value: number, sigma: number): string {
  return angleWords(value * ARCMINUTE, sigma * ARCMINUTE);
}

/** Time of day of an ISO UTC time. */
function clock(iso: string): string {
  return new Date(iso).toISOString().slice(11, 19);
}

function indent(text: string, width: number): string {
  return hanging('  ', text, width);
}

/** Text after a first word, later lines indented under its beginning. */
function hanging(lead: string, text: string, width: number): string {
  return wrap(text, width - lead.length).split('\n').map((line, i) => (i === 0 ? lead : ' '.repeat(lead.length)) + line).join('\n');
}
