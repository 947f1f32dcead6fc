import { aimedError } from '../axis/aim.js';
import type { AxisResult } from '../axis/axisResult.js';
import type { KnobAdvice } from '../knobs/adviseTurns.js';
import type { Rig } from '../knobs/rig.js';
import { adviceWords } from '../knobs/turnWords.js';
import type { Remedy } from '../remedy.js';
import { ARCMINUTE } from '../geometry/angle.js';
import { angleWords, uncertainty } from '../geometry/angleWords.js';
import type { Doubt } from './doubts.js';
import { offWords } from './motions.js';

/** How near the pole is near enough, and where that is from. */
export interface Limit {
  readonly arcmin: number;
  /** "rig file", "planned run", an option's name; null: nobody said, one arcminute is taken. */
  readonly from: string | null;
}

/** What to do next; a front adds its command or button. */
export interface NextStep {
  readonly action: 'turn-right-ascension' | 'turn-knob' | 'settle' | 'surer' | 'lock' | 'done';
  readonly words: string;
}

/** A line of the verdict, and a sentence that belongs to it. */
export interface Order {
  readonly order: string;
  readonly how: string;
  readonly remedies: readonly Remedy[];
}

/** What every front says of an answer, in this order. Plain sentences, not yet broken into lines. */
export interface WhatIsSaid {
  readonly within: boolean;
  /** The verdict: one line where the axis is good enough, else what each knob must do, the first to turn first; without a site none. */
  readonly verdict: readonly Order[];
  /** How far and how sure. */
  readonly sure: readonly string[];
  readonly doubts: readonly Doubt[];
  readonly next: NextStep;
}

/** What is known of an answer apart from the axis. */
export interface Circumstances {
  /** Empty without a site. */
  readonly advice: readonly KnobAdvice[];
  readonly rig: Rig | null;
  readonly limit: Limit;
  readonly doubts: readonly Doubt[];
  /** The camera's place on the mount is known from only two looks. */
  readonly unconfirmed: boolean;
  /** Nothing has moved since the look before, and that was within the limit already. */
  readonly stillWithin: boolean;
}

const KNOWN_ENOUGH = 2;

/** The verdict, how far and how sure, what is in doubt, what to do next. */
export function whatIsSaid(result: AxisResult, circumstances: Circumstances): WhatIsSaid {
  const { limit, doubts } = circumstances;
  const { separation } = aimedError(result);
  const within = separation / ARCMINUTE <= limit.arcmin;
  const unsure = !within && separation < KNOWN_ENOUGH * result.sigma.separation;
  return {
    within,
    verdict: within ? [plain(withinWords(result, limit))] : unsure ? [plain(unsureWords(result, limit))] : orders(result, circumstances),
    sure: sureWords(result, circumstances),
    doubts,
    next: nextOf(within, unsure, circumstances),
  };
}

function plain(order: string): Order {
  return { order, how: '', remedies: [] };
}

/** "limit 1′ (rig file)" */
export function limitWords({ arcmin, from }: Limit): string {
  return `limit ${Number(arcmin.toPrecision(3))}′${from === null ? '' : ` (${from})`}`;
}

function withinWords(result: AxisResult, limit: Limit): string {
  return `good enough: ${angleWords(aimedError(result).separation, result.sigma.separation)} off the pole, ${limitWords(limit)}`;
}

function unsureWords(result: AxisResult, limit: Limit): string {
  const { sigma } = result;
  return `not known well enough: ${angleWords(aimedError(result).separation, sigma.separation)} ± `
    + `${angleWords(sigma.separation, sigma.separation)} off the pole, ${limitWords(limit)}`;
}

/** What each knob must do. A move is not worded twice: with known turns the turn says it, else the error. */
function orders(result: AxisResult, { advice, rig }: Circumstances): Order[] {
  const moving = advice.filter((a) => a.act !== 'leave' && a.act !== 'below');
  const resting = advice.filter((a) => !moving.includes(a));
  const known = advice.some((a) => a.travel !== null);
  const lines = [...moving, ...resting].map((a): Order => {
    const words = adviceWords(a, rig, result.hemisphere);
    // Without any knowledge of the knobs a trial turn for each would hide the answer.
    return known ? { order: words.order, how: words.how, remedies: words.remedies ?? [] } : { order: words.order, how: '', remedies: [] };
  });
  if (moving.length < 2) return lines;
  return lines.map((line, i) => ({ ...line, order: i === 0 ? line.order.replace(/^(\w+)/, '$1 first') : i === 1 ? `then `
    + `${line.order}` : line.order }));
}

/** How far off and how sure. */
function sureWords(result: AxisResult, { advice, unconfirmed, doubts }: Circumstances): string[] {
  const { aim, sigma } = result;
  const error = aimedError(result);
  const off = `${angleWords(error.separation, sigma.separation)} ± ${uncertainty(sigma.separation)} off the ${aim} pole`;
  return [
    // Without a site, which has no advice, there is neither altitude nor azimuth.
    advice.length === 0 ? off : `${off}: ${offWords(error, sigma)}`,
    ...(unconfirmed && !doubts.some((d) => d.code === 'remembered-camera') ? ['two turned frames only: a third would show a slip'] : []),
  ];
}

function nextOf(within: boolean, unsure: boolean, { advice, doubts, stillWithin }: Circumstances): NextStep {
  const doubt = doubts.find(({ code }) => code !== 'turn-sign');
  if (doubt) return { action: 'settle', words: doubt.settle };
  if (unsure) return { action: 'surer', words: 'Turn the mount farther in right ascension, touch no knob, save a frame.' };
  if (within && stillWithin) return { action: 'done', words: 'Nothing has moved since. Start the run.' };
  if (within) return { action: 'lock', words: 'Lock the bolts, save one more frame: it shows whether locking moved the axis.' };
  const first = advice.find((a) => a.act !== 'leave' && a.act !== 'below');
  // Without the site no knob has a direction.
  if (advice.length === 0) {
    return { action: 'turn-knob', words: 'Turn a knob a little, save a frame: the distance shows whether it was the right way.' };
  }
  return first
    ? { action: 'turn-knob', words: `Turn ${first.knob}, save a frame.` }
    : { action: 'lock', words: 'The knobs can do no better. Lock the bolts, save one more frame.' };
}

/** What to do where the looks give no answer yet. */
export function nextWithoutAnswer(looks: number): NextStep {
  return {
    action: 'turn-right-ascension',
    words: looks === 0
      ? 'Point the camera near the pole, or where the sky is free, and save a frame.'
      : 'Turn the mount 30° or more in right ascension, touch no knob, save another frame.',
  };
}
