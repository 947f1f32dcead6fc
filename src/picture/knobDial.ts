import type { KnobAdvice } from '../knobs/adviseTurns.js';
import type { Rig } from '../knobs/rig.js';
import { adviceWords } from '../knobs/turnWords.js';
import { coordinate, element, escaped } from './markup.js';

/** What a dial shows of one knob. Turns are clockwise positive, seen facing the knob. */
export interface DialTurn {
  /** The knob's name: "azimuth". */
  readonly name: string;
  readonly act: KnobAdvice['act'];
  /** The turns to make one after the other: one, or past the goal and back. */
  readonly steps: readonly number[];
  /** The number of turns, where only the direction is unknown (`find-direction`). */
  readonly turns: number | null;
  readonly trial: number | null;
  /** All of it as sentences, for screen readers. */
  readonly words: string;
}

/** Colours as SVG takes them: "#a00", "currentColor", "var(--line)". */
export interface DialInk {
  /** The turn to make, and its number. */
  readonly turn: string;
  /** The knob. */
  readonly line: string;
  /** The scale around it. */
  readonly faint: string;
}

/** Side of the square that a dial is drawn in, in its own units. */
export const DIAL_SIDE = 200;

const MIDDLE = DIAL_SIDE / 2;
const BODY = 58;
const SCALE_INNER = 92;
const ARC_INNER = 66;
const ARC_OUTER = 88;
const BAND = 6;
/** More whole turns than this are a ring with their number: a longer spiral can't be counted. */
const MOST_LOOPS = 3;
const PIECES_A_TURN = 72;
/** Width of a letter, in font sizes, rather too wide: fonts differ. */
const GLYPH = 0.6;

/** What one knob's advice asks for. `hemisphere`: which pole the person faces. */
export function dialTurn(advice: KnobAdvice, rig: Rig | null, hemisphere: 1 | -1): DialTurn {
  const { knob, act, steps, turns, trial } = advice;
  const { order, how } = adviceWords(advice, rig, hemisphere);
  return { name: knob, act, steps, turns, trial, words: how === '' ? `${order}.` : `${order}. ${how}` };
}

/**
 * One knob as a dial, seen facing it: the mark is at the top now, the band runs in the direction of the hand and ends where the knob must
 * end. Whole turns are loops of the band (above three: a ring with their number). Past the goal and back are two bands, the way back
 * inside. Returns an `svg` element for a page or another picture, named for screen readers. As a file of its own it would need `xmlns`.
 *
 * @param place size, and position within another picture, in that one's units
 */
export function knobDial(
  turn: DialTurn, ink: DialInk, place: { readonly size: number; readonly x?: number; readonly y?: number } = { size: DIAL_SIDE },
): string {
  return element('svg', {
    viewBox: `0 0 ${DIAL_SIDE} ${DIAL_SIDE}`, x: place.x ?? null, y: place.y ?? null,
    width: place.size, height: place.size, role: 'img', 'aria-label': turn.words,
  }, scale(ink), body(ink), ...bands(turn, ink), numbers(turn, ink));
}

/** Eighths of a turn around the knob, quarters longer. */
function scale(ink: DialInk): string {
  const marks = Array.from({ length: 8 }, (_, i) => spoke(i / 8, SCALE_INNER, i % 2 === 0 ? 98 : 94));
  return element('path', { d: marks.join(''), stroke: ink.faint, 'stroke-width': 2, fill: 'none' });
}

/** The knob itself, its edge notched for grip, its mark at the top. */
function body(ink: DialInk): string {
  const grips = Array.from({ length: 24 }, (_, i) => spoke((i + 0.5) / 24, BODY - 5, BODY));
  return element('circle', { cx: MIDDLE, cy: MIDDLE, r: BODY, fill: 'none', stroke: ink.line, 'stroke-width': 2 })
    + element('path', { d: grips.join(''), stroke: ink.line, 'stroke-width': 1.5, fill: 'none' })
    + element('path', { d: `M${at(0, BODY + 8)}L${at(0.018, BODY - 4)}L${at(-0.018, BODY - 4)}Z`, fill: ink.line });
}

function bands({ act, steps, turns, trial }: DialTurn, ink: DialInk): string[] {
  const [first, back] = steps;
  if (act === 'try' && trial !== null) return [band(0, trial, ARC_INNER, ARC_OUTER, ink, true)];
  if (act === 'find-direction') {
    const size = turns ?? Math.abs(trial ?? 0);
    return [band(0, size, ARC_INNER, ARC_OUTER, ink, true), band(0, -size, ARC_INNER, ARC_OUTER, ink, true)];
  }
  if (first === undefined) return [];
  if (back === undefined) return [band(0, first, ARC_INNER, ARC_OUTER, ink, false), home(first, ink)];
  return [
    band(0, first, ARC_INNER + 12, ARC_OUTER, ink, false),
    band(first, back, ARC_INNER + 1, ARC_INNER + 1, ink, false),
    home(first + back, ink),
  ];
}

/** Where the knob's mark must end. */
function home(turns: number, ink: DialInk): string {
  return element('path', { d: spoke(turns, BODY + 2, SCALE_INNER + 4), stroke: ink.turn, 'stroke-width': 2, fill: 'none' });
}

/** A band of `turns` that begins at `from`, its loops from `inner` outward to `outer`, with an arrowhead in its direction. */
function band(from: number, turns: number, inner: number, outer: number, ink: DialInk, unsure: boolean): string {
  const size = Math.abs(turns);
  if (size === 0) return '';
  const way = Math.sign(turns);
  const whole = size > MOST_LOOPS ? Math.floor(size) : 0;
  const drawn = size - whole;
  const pitch = drawn > 1 ? Math.min(9, (outer - inner) / drawn) : 0;
  const width = pitch > 0 ? Math.min(BAND, 0.6 * pitch) : BAND;
  const radius = (done: number): number => (drawn > 1 ? inner + pitch * done : (inner + outer) / 2);
  // The arrowhead is as long as the turn allows, so that a tap does not look like an eighth.
  const headTurns = Math.min(drawn, 14 / (2 * Math.PI * radius(drawn)));
  const stem = drawn - headTurns;
  const count = Math.max(1, Math.ceil(stem * PIECES_A_TURN));
  const points = Array.from({ length: count + 1 }, (_, i) => (stem * i) / count).map((done) => at(from + way * done, radius(done)));
  const end = radius(drawn);
  const half = 3 + 6 * Math.min(1, headTurns * 2 * Math.PI * end / 14);
  const parts = [
    stem > 0 ? element('path', {
      d: `M${points.join('L')}`, fill: 'none', stroke: ink.turn, 'stroke-width': width, 'stroke-dasharray': unsure ? '7 5' : null,
      class: 'turn',
    }) : '',
    headTurns > 0 ? element('path', {
      d: `M${at(from + way * drawn, end)}L${at(from + way * stem, end + half)}L${at(from + way * stem, end - half)}Z`, fill: ink.turn,
      class: 'head',
    }) : '',
  ];
  if (whole > 0) {
    parts.push(element(
      'circle', { cx: MIDDLE, cy: MIDDLE, r: ARC_INNER - 3, fill: 'none', stroke: ink.turn, 'stroke-width': 3, class: 'whole' },
    ));
  }
  return parts.join('');
}

/** How much and which way, in the middle. */
function numbers(turn: DialTurn, ink: DialInk): string {
  const { act, steps, turns, trial } = turn;
  const [first, back] = steps;
  if (act === 'try' && trial !== null) return lines(ink, `try ${amount(trial)}`, unit(trial), way(trial));
  if (act === 'find-direction') return lines(ink, amount(turns ?? trial ?? 0), unit(turns ?? trial ?? 0), 'way unknown');
  if (first === undefined) return lines(ink, 'leave it', '', act === 'below' ? 'too little to turn' : '');
  if (back !== undefined) return lines(ink, amount(first), way(first), `then ${amount(back)} back`);
  return lines(ink, amount(first), act === 'tap' ? 'a tap' : unit(first), way(first));
}

/** Three lines that fit into the knob's circle. */
function lines(ink: DialInk, large: string, middle: string, small: string): string {
  const line = (text: string, baseline: number, most: number): string => {
    if (text === '') return '';
    const room = 2 * Math.sqrt((BODY - 6) ** 2 - Math.max(Math.abs(baseline - MIDDLE), Math.abs(baseline - MIDDLE - 0.7 * most)) ** 2);
    return element('text', {
      x: MIDDLE, y: baseline, 'font-size': Math.min(most, room / (GLYPH * text.length)), 'font-weight': most > 20 ? 'bold' : null,
      'font-family': 'sans-serif', 'text-anchor': 'middle', fill: ink.turn,
    }, escaped(text));
  };
  return line(large, 98, 32) + line(middle, 115, 14) + line(small, 129, 11);
}

function amount(turns: number): string {
  const size = Math.abs(turns);
  return size >= 10 ? size.toFixed(1) : size.toFixed(2);
}

function unit(turns: number): string {
  return Math.abs(turns) > 1 ? 'turns' : 'turn';
}

function way(turns: number): string {
  return turns < 0 ? 'counter-clockwise' : 'clockwise';
}

/** A point of the dial: turns clockwise from the top, distance from the middle. */
function at(turns: number, radius: number): string {
  const angle = 2 * Math.PI * turns;
  return `${coordinate(MIDDLE + radius * Math.sin(angle))} ${coordinate(MIDDLE - radius * Math.cos(angle))}`;
}

function spoke(turns: number, from: number, to: number): string {
  return `M${at(turns, from)}L${at(turns, to)}`;
}
