import { aimedError } from '../axis/aim.js';
import type { AxisResult } from '../axis/axisResult.js';
import type { ErrorCode } from '../error.js';
import { ARCMINUTE, DEGREE } from '../geometry/angle.js';
import { decimals, plusMinus } from '../geometry/angleWords.js';
import type { KnobAdvice } from '../knobs/adviseTurns.js';
import { cautionsFor } from '../knobs/cautions.js';
import type { Rig } from '../knobs/rig.js';
import { turnWords } from '../knobs/turnWords.js';
import type { PanelKnob, PanelOff, PanelTrouble, PanelView } from './panelView.js';
import { dialTurn } from '../picture/knobDial.js';
import type { Warning } from '../axis/warning.js';
import type { Doubt } from '../night/doubts.js';
import type { Happening } from '../night/happenings.js';
import type { NextStep } from '../night/said.js';

/** What a panel needs of an answer. Errors and sigmas in radians, from the aimed pole; the knob's angles. */
export interface PanelAnswer {
  readonly azimuth: number;
  readonly altitude: number;
  readonly separation: number;
  readonly sigma: { readonly azimuth: number; readonly altitude: number; readonly separation: number };
  readonly aim: 'refracted' | 'true';
  readonly hemisphere: 1 | -1;
  /** Empty without a site: then there is neither azimuth nor altitude. */
  readonly advice: readonly KnobAdvice[];
  readonly rig: Rig | null;
  readonly warnings: readonly Warning[];
  readonly doubts: readonly Doubt[];
  readonly next: NextStep;
}

/** What a panel needs of an answer to frames. */
export function panelAnswer(
  { axis, site, warnings }: { readonly axis: AxisResult; readonly site: unknown; readonly warnings: PanelAnswer['warnings'] },
  { advice, rig }: Pick<PanelAnswer, 'advice' | 'rig'>, { doubts, next }: Pick<PanelAnswer, 'doubts' | 'next'>,
): PanelAnswer {
  const { azimuth, altitude, separation } = aimedError(axis);
  const { sigma, aim, hemisphere } = axis;
  return { azimuth, altitude, separation, sigma, aim, hemisphere, advice: site ? advice : [], rig, warnings, doubts, next };
}

/** The panel's view of the answer to a frame; the caller adds the frame. */
export function answerView(answer: PanelAnswer, limitArcmin: number): Omit<PanelView, 'frame'> {
  const { advice, rig, warnings } = answer;
  return {
    knobs: advice.map((a) => knobOf(a, answer)),
    off: offOf(answer, limitArcmin),
    next: nextWords(answer),
    trouble: doubtTrouble(answer.doubts) ?? warnings.map(({ code }) => WARNED[code]).find((t) => t !== undefined) ?? null,
    cautions: cautionsFor({ doing: 'turn', advice, rig }, [], true).map(({ text }) => text),
  };
}

function knobOf(advice: KnobAdvice, { azimuth, altitude, sigma, hemisphere, rig }: PanelAnswer): PanelKnob {
  const name = advice.knob;
  const error = name === 'azimuth' ? azimuth : altitude;
  const sure = name === 'azimuth' ? sigma.azimuth : sigma.altitude;
  const off = short(error, sure);
  const right = Math.abs(error) < 2 * sure;
  const leave = advice.act === 'leave' || advice.act === 'below';
  const side = name === 'azimuth' ? (error > 0 ? 'east' : 'west') : (error > 0 ? 'high' : 'low');
  const toRight = (error < 0) === (hemisphere === 1);
  const [way, arrow] = leave ? ['leave it', ''] as const
    : name === 'azimuth' ? [`${error < 0 ? 'east' : 'west'}, ${toRight ? 'right' : 'left'}`, toRight ? '→' : '←'] as const
      : error > 0 ? ['lower', '↓'] as const : ['raise', '↑'] as const;
  return {
    name, off, sure: plusMinus(sure), way, arrow, turn: dialTurn(advice, rig, hemisphere),
    offSaid: `${off.replace('′', '')} arcminutes `
      + `${right ? 'off, right within its error' : `too ${name === 'azimuth' ? 'far ' : ''}${side}`}`,
  };
}

function offOf({ separation, sigma, aim }: PanelAnswer, limitArcmin: number): PanelOff {
  const arcmin = separation / ARCMINUTE;
  return {
    text: `${short(separation, sigma.separation)} ${plusMinus(sigma.separation)} off the ${aim === 'true' ? 'true pole' : 'pole'}`,
    arcmin, limitArcmin, within: arcmin <= limitArcmin,
  };
}

/** At most three digits, so that they can be large, and no more than the error allows. */
function short(angle: number, sigma: number): string {
  const size = Math.abs(angle) / ARCMINUTE;
  if (size >= 120) return `${(size / 60).toFixed(decimals(sigma / DEGREE, size >= 600 ? 1 : 2))}°`;
  return `${size.toFixed(decimals(sigma / ARCMINUTE, size >= 99.95 ? 0 : size >= 9.995 ? 1 : 2))}′`;
}

/** One knob at a time, azimuth first: if both are turned at once, neither can be learned. */
function nextWords({ advice, next }: PanelAnswer): string {
  if (next.action !== 'turn-knob') return next.words;
  if (advice.length === 0) return 'Give the watch latitude and longitude to learn which knob to turn.';
  const knob = advice.find(({ act }) => act !== 'leave' && act !== 'below');
  if (!knob) return next.words;
  const name = knob.knob === 'azimuth' ? 'Azimuth' : 'Altitude';
  return `${name}: ${turnsOf(knob)}, then save a frame.`;
}

/** A doubt, to be read from a distance. */
function doubtTrouble([doubt]: readonly Doubt[]): PanelTrouble | null {
  return doubt ? { headline: 'In doubt', detail: doubt.message } : null;
}

function turnsOf({ act, steps, trial, turns }: KnobAdvice): string {
  if (act === 'try') return `try ${worded(trial!)}`;
  if (act === 'find-direction') return `${turnWords(turns ?? trial!)}, try clockwise first`;
  const [first, back] = steps;
  return back === undefined ? `${act === 'tap' ? 'tap ' : ''}${worded(first!)}` : `${worded(first!)}, back ${worded(back)}`;
}

function worded(turns: number): string {
  return `${turnWords(turns)} ${turns < 0 ? 'counter-clockwise' : 'clockwise'}`;
}

/** Warnings that mean: check this before you turn anything. */
const WARNED: Partial<Record<Warning['code'], PanelTrouble>> = {
  'not-one-rotation': { headline: 'Slipped', detail: 'The frames don\'t fit one rotation: a clutch, the tripod or a cable. Find the '
    + 'cause, then measure again.' },
  'clock-suspect': { headline: 'Clock wrong?', detail: 'The frames\' times look wrong, which turns the direction of the answer. See '
    + 'the watch\'s screen.' },
};

const UNUSABLE: Partial<Record<ErrorCode, PanelTrouble>> = {
  'no-stars': { headline: 'Clouds? No stars', detail: 'The last frame shows no stars. Check sky, lens cap and focus, or expose '
    + 'longer.' },
  'not-identified': { headline: 'Clouds? Stars not known', detail: 'The last frame\'s stars were not recognised. Clouds, or too far '
    + 'from the pole.' },
  'no-time': { headline: 'Frame without a time', detail: 'The last frame does not say when it was taken. Set the camera\'s clock and '
    + 'time zone.' },
  'size-differs': { headline: 'Frame of another size', detail: 'Use one camera with one binning.' },
  'other-camera': { headline: 'Frame of another camera', detail: 'Use one camera with one lens.' },
  'other-night': { headline: 'Frame of another night', detail: 'The last frame\'s date is not tonight\'s. Check the camera\'s clock.' },
  'same-moment': {
    headline: 'Frame of another night', detail: 'The last frame has the time of one before, with the camera elsewhere. Check its time.',
  },
  'same-picture': { headline: 'The same picture again', detail: 'The last frame is a copy of one before. Save a new one.' },
  'session-unwritable': { headline: 'Not recorded', detail: 'The session could not be written. See the watch\'s screen.' },
  'session-busy': { headline: 'Not recorded', detail: 'The session could not be written. See the watch\'s screen.' },
};

/** The trouble of a frame that can't be used. The error's own message is not shown: it names files. */
export function unusableFrame(code: ErrorCode): PanelTrouble {
  return UNUSABLE[code] ?? { headline: 'Frame not usable', detail: 'The last frame could not be used. See the watch\'s screen.' };
}

/** A few words for the line with the frame's age. */
export const TAKEN_SHORT: Readonly<Record<Happening, string>> = {
  first: 'first frame', turned: 'mount was turned', unchanged: 'nothing has moved', knob: 'a knob was turned',
  declination: 'declination moved', anew: 'axis and camera moved',
};

/** The trouble of a frame that gives no answer; null where that is to be expected. */
export function nothingYetTrouble(what: Happening): PanelTrouble | null {
  return what === 'anew'
    ? { headline: 'Axis and camera moved', detail: 'What was known before no longer holds. Turn in right ascension only, save another '
      + 'frame.' }
    : null;
}
