import { handError } from './handError.js';
import { playTurns } from './playedTurns.js';

/** One adjustment from the point of view of one knob. */
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
  /** The part of `sigma` that comes from the play's uncertainty. */
  readonly playSigma: number;
  readonly backlash: { readonly turns: number; readonly sigma: number } | null;
  /** Turns that moved the axis in an adjustment, and their variance (hand and play), at the mean play. */
  bite(datum: Datum): { readonly turns: number; readonly variance: number };
  /** How many sigmas the change is from what this fit predicts for its turns. */
  standardized(datum: Datum): number;
  /** Factor by which the scatter exceeds what was expected, at least 1. */
  readonly excess: number;
  readonly prior: TravelPrior;
}

/** What is known of a travel before any turn: its size within a factor e^±spread, and perhaps its sign. */
export interface TravelPrior {
  /** Radians a turn, positive. */
  readonly size: number;
  readonly spread: number;
  readonly sign: 1 | -1 | null;
}

/** Tilt of an ordinary base (radians, about 3°): a knob may move the other error by this share of its own move. */
export const LEAN = 0.05;
/** Values of play that are tried, in turns, and the scale of the exponential prior. */
const PLAYS = Array.from({ length: 31 }, (_, i) => i * 0.02);
const PLAY_SCALE = 0.1;
/** The fall in deviance that is required for play: three sigma for one unknown. */
const BELIEVED = 9;
/** The deviance added if the rig file's direction is wrong: one in fifty is. */
const WRONG_WAY = 2 * Math.log(49);

interface Trial {
  readonly play: number;
  /** ln of the travel's size. */
  readonly log: number;
  readonly logVariance: number;
  /** -2 ln likelihood, including the prior of the travel, apart from constants. */
  readonly deviance: number;
  readonly chiSquared: number;
}

/**
 * Travel and play of one knob from its adjustments: for each play and each direction tried, least squares of the change against the turns
 * that then moved the axis, in the logarithm of the travel, so that few data can neither reverse it nor make it vanish. The play is
 * accepted where it lowers the deviance by 9 (scaled by the scatter, where that exceeds the expectation); in either case its uncertainty is
 * included in the travel's sigma. Null where nothing was turned.
 */
export function fitKnob(data: readonly Datum[], prior: TravelPrior): KnobFit | null {
  if (data.length === 0) return null;
  const [forward, backward] = ([1, -1] as const).map((sign): Way => {
    const trials = PLAYS.map((play) => leastSquares(data, play, sign, prior));
    const best = trials.reduce((a, b) => (b.deviance < a.deviance ? b : a));
    return { sign, trials, best, deviance: best.deviance + (prior.sign === -sign ? WRONG_WAY : 0) };
  });
  const { sign, trials, best } = forward!.deviance <= backward!.deviance ? forward! : backward!;
  const freedom = data.length - 1;
  const excess = freedom > 0 ? Math.max(1, best.chiSquared / freedom) : 1;
  const believed = (trials[0]!.deviance - best.deviance) / excess > BELIEVED;
  // All values of play together, each with its weight.
  const weights = trials.map((t) => Math.exp((best.deviance - t.deviance) / (2 * excess) - (t.play - best.play) / PLAY_SCALE));
  const sum = weights.reduce((a, b) => a + b, 0);
  const mean = (value: (t: Trial) => number): number => trials.reduce((s, t, i) => s + weights[i]! * value(t), 0) / sum;
  const log = mean((t) => t.log);
  const playVariance = mean((t) => (t.log - log) ** 2);
  const variance = mean((t) => t.logVariance * excess) + playVariance;
  const play = mean((t) => t.play);
  const spread = Math.sqrt(mean((t) => (t.play - play) ** 2) + 0.02 ** 2 / 12);
  const travel = sign * Math.exp(log);
  const bites = bitten(data, play);
  const bite = (datum: Datum): { turns: number; variance: number } => {
    const at = data.indexOf(datum);
    if (at >= 0) return bites[at]!;
    const all = [...data, datum].sort((a, b) => a.index - b.index);
    return bitten(all, play)[all.indexOf(datum)]!;
  };
  return {
    travel, sigma: Math.abs(travel) * Math.sqrt(variance), playSigma: Math.abs(travel) * Math.sqrt(playVariance), excess, prior,
    backlash: believed ? { turns: play, sigma: spread } : null,
    bite,
    standardized(datum) {
      const { turns, variance: turnVariance } = bite(datum);
      const sigma2 = noise(datum, travel, turnVariance) * excess + variance * (travel * turns) ** 2 + (travel * spread) ** 2;
      return Math.abs(datum.change - travel * turns) / Math.sqrt(sigma2);
    },
  };
}

interface Way {
  readonly sign: 1 | -1;
  readonly trials: readonly Trial[];
  readonly best: Trial;
  readonly deviance: number;
}

/** Variance of a change (radians²): the measurement, the hand, the play, and what the other knob may do through an unlevel base. */
export function noise(datum: Datum, travel: number, turnVariance: number): number {
  return datum.sigma ** 2 + travel * travel * turnVariance + (LEAN * datum.otherChange) ** 2;
}

/**
 * Turns that moved the axis in each adjustment, with the variance of hand and play. A session begins with the knob anywhere in its play.
 */
function bitten(data: readonly Datum[], play: number): { turns: number; variance: number }[] {
  let session: string | null = null;
  let ahead: number | null = null;
  return data.map((datum) => {
    if (datum.session !== session) ahead = null;
    session = datum.session;
    const played = playTurns(datum.steps, play, ahead);
    ahead = played.ahead;
    const hand = handError(datum.steps.reduce((a, b) => a + b, 0)) ** 2;
    return { turns: played.turns, variance: played.variance + hand };
  });
}

/** Gauss-Newton in the logarithm of the travel, from the prior. The noise depends on the travel too, through the hand's error. */
function leastSquares(data: readonly Datum[], play: number, sign: 1 | -1, prior: TravelPrior): Trial {
  const bites = bitten(data, play);
  const start = Math.log(prior.size);
  let log = start;
  let weight = 0;
  for (let round = 0; round < 12; round++) {
    const travel = sign * Math.exp(log);
    let slope = (start - log) / prior.spread ** 2;
    weight = 1 / prior.spread ** 2;
    data.forEach((datum, i) => {
      const { turns, variance } = bites[i]!;
      const w = 1 / noise(datum, travel, variance);
      const way = travel * turns;
      slope += w * way * (datum.change - way);
      weight += w * way * way;
    });
    const step = Math.max(-0.5, Math.min(0.5, slope / weight));
    log += step;
    if (Math.abs(step) < 1e-6) break;
  }
  const travel = sign * Math.exp(log);
  const away = ((log - start) / prior.spread) ** 2;
  let chiSquared = away;
  let deviance = away;
  data.forEach((datum, i) => {
    const { turns, variance } = bites[i]!;
    const v = noise(datum, travel, variance);
    const r = (datum.change - travel * turns) ** 2 / v;
    chiSquared += r;
    deviance += r + Math.log(v);
  });
  return { play, log, logVariance: 1 / weight, deviance, chiSquared };
}
