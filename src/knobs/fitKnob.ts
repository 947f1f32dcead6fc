import { handError } from './handError.js';
import { playTurns } from './playedTurns.js';

/** One adjustment as one knob saw it. */
export interface Datum {
  /** Place among all adjustments. */
  readonly index: number;
  readonly session: string;
  readonly steps: readonly number[];
  /** Of the knob's own error, radians, with its one-sigma error. */
  readonly change: number;
  readonly sigma: number;
  /** Of the other error, where the other knob was turned too, radians. */
  readonly otherChange: number;
  readonly current: boolean;
}

export interface KnobFit {
  /** Radians a clockwise turn, signed, and one-sigma error: the play's uncertainty included. */
  readonly travel: number;
  readonly sigma: number;
  /** The part of `sigma` that the play's uncertainty makes. */
  readonly playSigma: number;
  readonly backlash: { readonly turns: number; readonly sigma: number } | null;
  /** Turns that bit in an adjustment, and their variance (hand and play), under the mean play. */
  bite(datum: Datum): { readonly turns: number; readonly variance: number };
  /** How many sigmas a change is from what this fit makes of its turns. */
  standardized(datum: Datum): number;
  /** Factor by which the scatter exceeds what was expected, at least 1. */
  readonly excess: number;
  /** What was known of the travel before any turn, radians. */
  readonly prior: { readonly mean: number; readonly sigma: number } | null;
}

/** What the rig's own travel is taken to be good to. */
const PRIOR_SHARE = 0.4;
/** Lean of an ordinary base (radians, about 3°): by as much of its own way a knob may move the other error. */
export const LEAN = 0.05;
/** Play tried, in turns, and how fast the expectation of more falls. */
const PLAYS = Array.from({ length: 41 }, (_, i) => i * 0.02);
const PLAY_SCALE = 0.1;
/** Drop of the deviance for which a play is believed: three sigmas for one unknown. */
const BELIEVED = 9;

interface Trial {
  readonly play: number;
  readonly travel: number;
  readonly variance: number;
  /** -2 ln likelihood, prior of the travel included, but for constants. */
  readonly deviance: number;
  readonly chiSquared: number;
}

/**
 * Travel and play of one knob from its adjustments: for each play tried, the least squares of change against the turns that then
 * bit. The play is believed where it lowers the deviance by 9 (scaled by the scatter, where that exceeds the expectation); believed
 * or not, its uncertainty goes into the travel's sigma. Null where nothing was turned, or too little to see.
 */
export function fitKnob(data: readonly Datum[], prior: { readonly size: number; readonly sign: 1 | -1 | null } | null): KnobFit | null {
  if (data.length === 0) return null;
  const signed = prior && { mean: prior.size * (prior.sign ?? signOf(data)), sigma: prior.size * PRIOR_SHARE };
  const trials = PLAYS.flatMap((play) => {
    const trial = leastSquares(data, play, signed);
    return trial ? [trial] : [];
  });
  const none = trials.find((t) => t.play === 0);
  const best = trials.reduce<Trial | undefined>((a, b) => (a && a.deviance <= b.deviance ? a : b), undefined);
  if (!best || !none) return null;
  const freedom = data.length - 1 - (prior ? 0 : 1);
  const excess = freedom > 0 ? Math.max(1, best.chiSquared / freedom) : 1;
  const believed = (none.deviance - best.deviance) / excess > BELIEVED;
  // All plays together, each with its weight.
  const weights = trials.map((t) => Math.exp((best.deviance - t.deviance) / (2 * excess) - (t.play - best.play) / PLAY_SCALE));
  const sum = weights.reduce((a, b) => a + b, 0);
  const mean = (value: (t: Trial) => number): number => trials.reduce((s, t, i) => s + weights[i]! * value(t), 0) / sum;
  const travel = mean((t) => t.travel);
  const playVariance = mean((t) => (t.travel - travel) ** 2);
  const variance = mean((t) => t.variance * excess) + playVariance;
  const play = mean((t) => t.play);
  const spread = Math.sqrt(mean((t) => (t.play - play) ** 2) + 0.02 ** 2 / 12);
  if (!(Math.abs(travel) > 2 * Math.sqrt(variance)) && !prior) return null;
  const bites = bitten(data, play);
  const bite = (datum: Datum): { turns: number; variance: number } => {
    const at = data.indexOf(datum);
    if (at >= 0) return bites[at]!;
    const all = [...data, datum].sort((a, b) => a.index - b.index);
    return bitten(all, play)[all.indexOf(datum)]!;
  };
  return {
    travel, sigma: Math.sqrt(variance), playSigma: Math.sqrt(playVariance), excess, prior: signed,
    backlash: believed ? { turns: play, sigma: spread } : null,
    bite,
    standardized(datum) {
      const { turns, variance: spreadTurns } = bite(datum);
      const sigma2 = noise(datum, travel, spreadTurns) * excess + variance * turns * turns + (travel * spread) ** 2;
      return Math.abs(datum.change - travel * turns) / Math.sqrt(sigma2);
    },
  };
}

/** Variance of a change (radians²): the measurement, the hand and the play, and what the other knob may do through an unlevel base. */
export function noise(datum: Datum, travel: number, turnVariance: number): number {
  return datum.sigma ** 2 + travel * travel * turnVariance + (LEAN * datum.otherChange) ** 2;
}

/** Turns that bit in each adjustment, with the variance of hand and play. Sessions begin with the knob anywhere in its play. */
function bitten(data: readonly Datum[], play: number): { turns: number; variance: number }[] {
  let session: string | null = null;
  let ahead: number | null = null;
  return data.map((datum) => {
    if (datum.session !== session) ahead = null;
    session = datum.session;
    const played = playTurns(datum.steps, play, ahead);
    ahead = played.ahead;
    const hand = datum.steps.reduce((s, t) => s + handError(t) ** 2, 0);
    return { turns: played.turns, variance: played.variance + hand };
  });
}

function leastSquares(data: readonly Datum[], play: number, prior: { mean: number; sigma: number } | null): Trial | null {
  const bites = bitten(data, play);
  let travel = prior?.mean ?? ratio(data, bites);
  if (!Number.isFinite(travel)) return null;
  let weight = 0;
  // The hand's error in radians depends on the travel that is sought: a few rounds settle it.
  for (let round = 0; round < 4; round++) {
    let sum = prior ? prior.mean / prior.sigma ** 2 : 0;
    weight = prior ? 1 / prior.sigma ** 2 : 0;
    data.forEach((datum, i) => {
      const { turns, variance } = bites[i]!;
      const w = 1 / noise(datum, travel, variance);
      sum += w * turns * datum.change;
      weight += w * turns * turns;
    });
    if (!(weight > 0)) return null;
    travel = sum / weight;
  }
  let chiSquared = prior ? ((travel - prior.mean) / prior.sigma) ** 2 : 0;
  let deviance = chiSquared;
  data.forEach((datum, i) => {
    const { turns, variance } = bites[i]!;
    const v = noise(datum, travel, variance);
    const r = (datum.change - travel * turns) ** 2 / v;
    chiSquared += r;
    deviance += r + Math.log(v);
  });
  return { play, travel, variance: 1 / weight, deviance, chiSquared };
}

function ratio(data: readonly Datum[], bites: readonly { turns: number }[]): number {
  let sum = 0, weight = 0;
  data.forEach((datum, i) => {
    sum += bites[i]!.turns * datum.change;
    weight += bites[i]!.turns ** 2;
  });
  return sum / weight;
}

/** Which way clockwise goes, as the data have it. */
function signOf(data: readonly Datum[]): 1 | -1 {
  return data.reduce((s, d) => s + d.change * d.steps.reduce((a, b) => a + b, 0), 0) < 0 ? -1 : 1;
}
