import { ARCMINUTE } from '../../geometry/angle.js';
import { printable } from '../../printable.js';
import type { Knob, NoteEntry, StartEntry, TurnEntry } from '../../night/record/entry.js';
import { type AxisChange, type KnobEffect, type Story, type StoryStep, isBeyondChance } from '../../night/record/story.js';
import { arcminutes, plusMinus, signed, wrap } from '../words/numberWords.js';

const WIDTH = 60;
/** A share of what was expected is only worth telling where the turn moved the axis well beyond its error. */
const SIGMAS_FOR_SHARE = 5;

/** The session for a person: where things stand, how it went down, then each look with what was done before it. At most 60 columns. */
export function logText(start: StartEntry, story: Story): string {
  return [
    standing(story),
    [place(start), ...story.steps.map(stepText), sinceText(story)].filter((part) => part !== '').join('\n\n'),
  ].join('\n\n');
}

/** Where things stand. */
export function standing({ steps, turnsSince }: Story): string {
  const last = steps.at(-1);
  if (!last) return 'nothing measured yet';
  const lines = turnsSince.length > 0
    ? ['a knob was turned since the last look: look again', `before: ${offText(last)}`]
    : [`now ${offText(last)}`];
  const parts = errorParts(last);
  if (parts !== '') lines.push(parts);
  if (steps.length > 1) lines.push(wrap(courseText(steps), WIDTH, '  '));
  if (last.contradictsRecheck) lines.push('this contradicts the recheck before it, see below');
  return lines.join('\n');
}

function offText(step: StoryStep): string {
  const { error, sigma, aim } = step;
  return `${arcmin(error.separationArcmin, sigma.separationArcmin)} off the ${aim} pole ${plusMinus(sigma.separationArcmin * ARCMINUTE)}, ${clock(step.utc ?? step.at).slice(0, 5)} UTC`;
}

/** How the error went down, and whether it did. */
function courseText(steps: readonly StoryStep[]): string {
  const shown = steps.slice(-6).map((s) => arcmin(s.error.separationArcmin, s.sigma.separationArcmin));
  const course = `${steps.length > 6 ? '… → ' : ''}${shown.join(' → ')} in ${steps.length} looks`;
  const [before, last] = steps.slice(-2);
  if (!before || !last || before.aim !== last.aim) return course;
  const change = last.error.separationArcmin - before.error.separationArcmin;
  const error = Math.hypot(last.sigma.separationArcmin, before.sigma.separationArcmin);
  if (Math.abs(change) <= 3 * error) return `${course}; the last made no difference that can be told`;
  return change > 0 && !last.contradictsRecheck ? `${course}; the last made it worse` : course;
}

/** When and where the session was begun. */
export function place({ at, site }: StartEntry): string {
  const where = site ? `, ${degrees(site.latitudeDeg, 'N', 'S')} ${degrees(site.longitudeDeg, 'E', 'W')}` : ', site unknown';
  return `session begun ${at.slice(0, 10)} ${clock(at).slice(0, 5)} UTC${where}`;
}

function degrees(value: number, positive: string, negative: string): string {
  return `${Math.abs(value).toFixed(2)}° ${value < 0 ? negative : positive}`;
}

/** One look, with what was done before it. */
export function stepText(step: StoryStep): string {
  const { how, framesUsed, error, sigma } = step;
  const frames = `${framesUsed} frame${framesUsed === 1 ? '' : 's'}`;
  const lines = [
    ...doneText(step.turns, step.notes),
    `${clock(step.utc ?? step.at)}  ${how === 'rotation' ? 'measured with rotation' : 'rechecked'}, ${frames}: ${arcmin(error.separationArcmin, sigma.separationArcmin)} off`,
    indent(errorParts(step)),
    ...effectLines(step).map(indent),
  ];
  if (step.contradictsRecheck && step.moved) lines.push(indent(`${both(step.moved)} of where the recheck had it: ${CONTRADICTION}`));
  return lines.filter((line) => line.trim() !== '').join('\n');
}

const CONTRADICTION = 'more than the errors of both. One frame can\'t tell a bump in declination from a knob: the camera or the '
  + 'declination axis was moved before the recheck, or the mount was moved after it. Trust this measurement.';

/** What was done before a look, in the order in which it was recorded. */
function doneText(turns: readonly TurnEntry[], notes: readonly NoteEntry[]): string[] {
  return [...turns, ...notes]
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at))
    .map((entry) => hanging(`${clock(entry.at)}  `, printable(entry.kind === 'turn' ? turnText(entry) : `note: ${entry.text}`)));
}

function turnText({ knob, turns, direction, followed, expectedArcmin }: TurnEntry): string {
  const size = Math.abs(turns).toFixed(2);
  const count = direction === undefined
    ? `${size} ${Math.abs(turns) > 1 ? 'turns' : 'turn'} ${turns < 0 ? 'counter-clockwise' : 'clockwise'}`
    : `${turns < 0 ? '−' : '+'}${size} ${Math.abs(turns) > 1 ? 'turns' : 'turn'} (+ is ${direction})`;
  const expected = expectedArcmin === null ? '' : `, to move it ${moveWords(knob, expectedArcmin, Math.abs(expectedArcmin).toFixed(1))}`;
  return `turned ${knob} ${count}${expected}${followed ? ' (advice taken as followed)' : ''}`;
}

function effectLines({ moved, effects, contradictsRecheck }: StoryStep): string[] {
  if (!moved) return [];
  const lines = effects.map(effectText);
  if (effects.length === 0 && !contradictsRecheck && isBeyondChance(moved)) {
    lines.push(`the axis moved ${both(moved)}, and no turn was recorded`);
  }
  for (const knob of ['azimuth', 'altitude'] as const) {
    const [change, sigma] = knob === 'azimuth' ? [moved.azimuthArcmin, moved.azimuthSigmaArcmin] : [moved.altitudeArcmin, moved.altitudeSigmaArcmin];
    if (effects.length > 0 && !effects.some((e) => e.knob === knob) && Math.abs(change) > 3 * sigma) {
      lines.push(`${knob} went along by ${moveWords(knob, change, arcmin(Math.abs(change), sigma))}, though not turned`);
    }
  }
  return lines;
}

function effectText({ knob, expectedArcmin, movedArcmin, sigmaArcmin }: KnobEffect): string {
  const did = `${knob} moved ${moveWords(knob, movedArcmin, arcmin(Math.abs(movedArcmin), sigmaArcmin))} ${plusMinus(sigmaArcmin * ARCMINUTE)}`;
  if (expectedArcmin === null || expectedArcmin === 0) return did;
  const expected = moveWords(knob, expectedArcmin, Math.abs(expectedArcmin).toFixed(1));
  const share = movedArcmin / expectedArcmin;
  const verdict = Math.abs(movedArcmin) <= 3 * sigmaArcmin ? ': it did not move'
    : share < 0 ? ': the other way'
      : Math.abs(movedArcmin) > SIGMAS_FOR_SHARE * sigmaArcmin ? `: ${Math.round(100 * share)}%` : '';
  return `${did}, expected ${expected}${verdict}`;
}

function both(moved: AxisChange): string {
  const part = (knob: Knob, change: number, sigma: number): string => moveWords(knob, change, arcmin(Math.abs(change), sigma));
  return `${part('altitude', moved.altitudeArcmin, moved.altitudeSigmaArcmin)}, ${part('azimuth', moved.azimuthArcmin, moved.azimuthSigmaArcmin)}`;
}

/** "25.0′ east", "3.1′ down". */
function moveWords(knob: Knob, change: number, size: string): string {
  return `${size.endsWith('′') ? size : `${size}′`} ${knob === 'azimuth' ? (change < 0 ? 'west' : 'east') : change < 0 ? 'down' : 'up'}`;
}

function errorParts({ error, sigma }: StoryStep): string {
  const { altitudeArcmin: up, azimuthArcmin: east } = error;
  const { altitudeArcmin: upSigma, azimuthArcmin: eastSigma } = sigma;
  if (up === null || east === null || upSigma === null || eastSigma === null) return '';
  return `altitude ${signed(arcmin(up, upSigma))} ${plusMinus(upSigma * ARCMINUTE)}, azimuth ${signed(arcmin(east, eastSigma))} ${plusMinus(eastSigma * ARCMINUTE)}`;
}

/** What was done after the last look; empty if nothing. */
export function sinceText({ turnsSince, notesSince }: Story): string {
  return doneText(turnsSince, notesSince).join('\n');
}

function arcmin(value: number, sigma: number): string {
  return arcminutes(value * ARCMINUTE, sigma * ARCMINUTE);
}

/** Time of day of an ISO UTC time. */
function clock(iso: string): string {
  return new Date(iso).toISOString().slice(11, 19);
}

function indent(text: string): string {
  return hanging('  ', text);
}

/** Text after a lead-in, later lines under its beginning. */
function hanging(lead: string, text: string): string {
  return wrap(text, WIDTH - lead.length).split('\n').map((line, i) => (i === 0 ? lead : ' '.repeat(lead.length)) + line).join('\n');
}
