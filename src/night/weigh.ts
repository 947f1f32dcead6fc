import { ARCMINUTE, ARCSECOND, DEGREE } from '../geometry/angle.js';
import { type Rotation, apply, axisAndAngle, compose, inverse } from '../geometry/rotation.js';
import { type Vector, angleBetween, dot, subtract } from '../geometry/vector.js';
import type { Hemisphere } from '../sky/localSky.js';
import { type Between, EXPLANATIONS, type Explanation, type Move, likelihoods, priorOf } from './explanations.js';
import { logSum } from './gaussian.js';
import {
  type BatchState, type MountState, type RoughAxis, SET_DOWN, afterDeclination, afterKnob, afterSame, batchState, innovation,
  worstAxisSigma, worstCentreSigma,
} from './mountState.js';
import type { Grouping } from '../axis/mountModel.js';
import { anyBasis } from '../axis/axisBasis.js';
import { type Anchor, covarianceNow } from './anchor.js';
import type { PoseLook } from './poseLook.js';
import { turnBetween, turnLikelihood } from './turnBetween.js';

/** One account of all looks so far: what happened before each, and the state of the mount that follows. */
export interface Account {
  /** What happened before each look; `both` for the first. */
  readonly happened: readonly Explanation[];
  /** The look at which axis and camera were last both unknown: nothing before it matters for what follows. */
  readonly since: number;
  /** All such looks, the first of the night among them. */
  readonly restarts: readonly number[];
  /** Looks of this stance and mounting, where the state is still that of all of them together. */
  readonly batch: BatchState | null;
  /** What was known of the axis when the camera was last unknown. */
  readonly rough: RoughAxis;
  readonly state: MountState;
  /** Poses, turned away from each other, that agree on where the axis lies in the camera: two alone would not show a slip. */
  readonly agreeing: readonly Rotation[];
  /** Where the axis lay in the camera, for each mounting that has ended. */
  readonly pastCentres: readonly (Vector | null)[];
  /** Natural logarithm of its weight; all weights sum to one. */
  readonly logWeight: number;
}

/** The mount's place, as the weighing needs it. */
export interface Setting {
  readonly hemisphere: Hemisphere;
  /** Local direction of the refracted pole. */
  readonly pole: Vector;
  /** Up and down are known: a knob moves the axis along or across them. */
  readonly levelKnown: boolean;
}

/** An axis with a larger uncertainty than this is not an answer, radians. */
const KNOWN = 10 * ARCMINUTE;
/** With a smaller uncertainty than this, adding looks one by one gives the same as fitting all together; radians. */
const LINEAR = 20 * ARCSECOND;
/** Accounts less likely than the best by more than this (natural logarithm) are dropped, and those beyond this number. */
const HOPELESS = 18;
const MOST_ACCOUNTS = 40;
/** Accounts that agree on axis and camera within this are the same for all that follows, radians. */
const SAME_STATE = 0.1 * ARCSECOND;

/** How far knobs may have taken an axis that was known, radians, one sigma. */
const KNOBS_REACH = 3 * DEGREE;
/** With this many poses that agree a check is possible; they must be turned by this, radians. */
const CONFIRMED = 3;
const TELLING = 3 * DEGREE;

/** Whether looks beyond the two that any axis fits have confirmed an account. */
export function isConfirmed({ agreeing }: Account): boolean {
  return agreeing.length >= CONFIRMED;
}

function turnOf(a: Rotation, b: Rotation): number {
  return axisAndAngle(compose(b, inverse(a))).angle;
}

/** Whether an account determines where the axis points. */
export function knowsAxis({ state }: Account): boolean {
  return worstAxisSigma(state) < KNOWN;
}

/** How often a camera is still where it was on an earlier night: a guess. */
const STILL_THERE = 0.6;

/** The accounts after the first look. `anchor`: how the camera sat on the mount before it, if that is known. */
export function accountsFrom(look: PoseLook, setting: Setting, anchor: Anchor | null): readonly Account[] {
  const rough = { near: setting.pole, sigma: SET_DOWN };
  const batch = batchState([look], rough);
  const fresh: Account = {
    happened: ['both'], since: 0, restarts: [0], batch, rough, state: batch.state, agreeing: [look.pose], pastCentres: [], logWeight: 0,
  };
  if (!anchor) return [fresh];
  const [a, b, c, d] = covarianceNow(anchor);
  const state = afterKnob({
    ...batch.state, centre: anchor.centre, centreAlong: anyBasis(anchor.centre),
    covariance: Float64Array.from([0, 0, 0, 0, 0, 0, 0, 0, 0, 0, a, b, 0, 0, c, d]),
  }, look);
  const remembered: Account = {
    ...fresh, happened: ['knob'], batch: null, state, agreeing: anchor.from === 'tonight' ? [look.pose, look.pose, look.pose] : [look.pose],
    pastCentres: [], logWeight: 0,
  };
  if (anchor.from === 'tonight') return [remembered];
  return [{ ...remembered, logWeight: Math.log(STILL_THERE) }, { ...fresh, logWeight: Math.log(1 - STILL_THERE) }];
}

/**
 * The accounts after one more look, the likeliest first. Each account so far continues in every way in which the new look can be
 * explained. Weights: how often people do that, how well it fits, and how many other fits it would allow (a Bayesian multiple-hypothesis
 * filter: Reid 1979, IEEE Trans. Automatic Control 24, 843).
 *
 * @param looks all looks, the new one last, in the order of time
 */
export function weighLook(accounts: readonly Account[], looks: readonly PoseLook[], setting: Setting): readonly Account[] {
  const look = looks.at(-1)!;
  const before = looks.at(-2)!;
  const best = accounts[0]!;
  const { slewed } = turnBetween(before, look, best.state.axis, setting.hemisphere);
  // The person's advice came from the likeliest account, whichever is true.
  const advised = knowsAxis(best) ? advisedMove(best.state, setting.pole) : null;
  const grown = accounts.flatMap(
    (account) =>
      goOn(
        account, looks, setting.hemisphere,
        { slewed, advised, said: look.said, gap: look.afterGap ?? false, levelKnown: setting.levelKnown },
      ),
  );
  return normalised(merged(grown));
}

function goOn(account: Account, looks: readonly PoseLook[], hemisphere: Hemisphere, between: Between): Account[] {
  const look = looks.at(-1)!;
  const before = looks.at(-2)!;
  const known = knowsAxis(account);
  const turn = turnBetween(before, look, account.state.axis, hemisphere);
  const roll = Math.sqrt(before.spread[8]! + look.spread[8]!);
  const prior = priorOf(between);
  const { gap, covariance } = innovation(account.state, look);
  const seen: Move = { up: gap[0], right: gap[1] };
  const [upUp, upRight, , rightRight] = covariance;
  const fit = likelihoods(seen, [rightRight, upRight, upRight, upUp], between);
  const stayed = turnLikelihood(turn, roll, 0);
  const mixed = turnLikelihood(turn, roll, Math.hypot(seen.up, seen.right));
  const grow = (what: Explanation, share: number, evidence: number, next: Omit<Account, 'happened' | 'logWeight'>): Account => ({
    ...next, happened: [...account.happened, what],
    logWeight: account.logWeight + Math.log(share) + evidence + (what === 'same' ? stayed : mixed),
  });
  const out = [same(account, looks, look, (evidence, next) => grow('same', prior.same, evidence ?? fit.same, next))];
  if (!known) {
    out.push(grow('both', prior.knob + prior.declination + prior.both, fit.both, anew(account, looks.length - 1, look)));
    return out;
  }
  for (const what of EXPLANATIONS) {
    if (what === 'same') continue;
    const next = what === 'both' ? anew(account, looks.length - 1, look)
      : what === 'knob' ? { ...account, batch: null, state: afterKnob(account.state, look) }
      : {
        ...account, batch: null, state: afterDeclination(account.state, look), pastCentres: [...account.pastCentres, account.state.centre],
      };
    out.push(grow(what, prior[what], fit[what], next));
  }
  return out;
}

/** Nothing moved. `grow` is given the evidence where that is known better than from the gap alone. */
function same(
  account: Account, looks: readonly PoseLook[], look: PoseLook,
  grow: (evidence: number | null, next: Omit<Account, 'happened' | 'logWeight'>) => Account,
): Account {
  const agreeing = account.agreeing.length < CONFIRMED && account.agreeing.every((pose) => turnOf(pose, look.pose) > TELLING)
    ? [...account.agreeing, look.pose] : account.agreeing;
  if (!account.batch) return grow(null, { ...account, state: afterSame(account.state, look), agreeing });
  const batch = batchState(looks.slice(account.since), account.rough);
  const linear = Math.max(worstAxisSigma(batch.state), worstCentreSigma(batch.state)) < LINEAR;
  return grow(batch.logEvidence - account.batch.logEvidence, { ...account, batch: linear ? null : batch, state: batch.state, agreeing });
}

/** Nothing that was known before is still true. */
function anew(account: Account, since: number, look: PoseLook): Omit<Account, 'happened' | 'logWeight'> {
  const rough = knowsAxis(account) ? { near: account.state.axis, sigma: KNOBS_REACH } : account.rough;
  const batch = batchState([look], rough);
  return {
    since, restarts: [...account.restarts, since], batch, rough, state: batch.state, agreeing: [look.pose],
    pastCentres: [...account.pastCentres, knowsAxis(account) ? account.state.centre : null],
  };
}

/** The move that removes the error. */
function advisedMove({ axis, axisAlong }: MountState, pole: Vector): Move {
  const off = subtract(pole, axis);
  return { up: dot(off, axisAlong[0]), right: dot(off, axisAlong[1]) };
}

/** Accounts that lead to the same future become one, with the past of the likeliest. */
function merged(accounts: readonly Account[]): Account[] {
  const kept: Account[] = [];
  for (const account of [...accounts].sort((a, b) => b.logWeight - a.logWeight)) {
    if (kept.length > 0 && account.logWeight < kept[0]!.logWeight - HOPELESS) break;
    const alike = kept.findIndex((other) => sameFuture(other, account));
    if (alike >= 0) kept[alike] = { ...kept[alike]!, logWeight: logSum([kept[alike]!.logWeight, account.logWeight]) };
    else if (kept.length < MOST_ACCOUNTS) kept.push(account);
  }
  return kept;
}

function sameFuture(a: Account, b: Account): boolean {
  return a.batch === null && b.batch === null && angleBetween(a.state.axis, b.state.axis) < SAME_STATE
    && angleBetween(a.state.centre, b.state.centre) < SAME_STATE;
}

function normalised(accounts: readonly Account[]): Account[] {
  const all = logSum(accounts.map((a) => a.logWeight));
  return accounts.map((a) => ({ ...a, logWeight: a.logWeight - all })).sort((a, b) => b.logWeight - a.logWeight);
}

/** The grouping of some consecutive looks, and the centre of each of their mountings; null where the account does not know it. */
export function groupingOf(account: Account, looks: readonly number[]): Grouping & { readonly centres: readonly (Vector | null)[] } {
  const centres = centresOf(account);
  const mountings = mountingsOf(account);
  const first = mountings[looks[0]!]!;
  let stance = -1;
  return {
    mounting: looks.map((i) => mountings[i]! - first),
    stance: looks.map((i, k) => {
      const what = account.happened[i]!;
      if (k === 0 || what === 'knob' || what === 'both') stance++;
      return stance;
    }),
    centres: [...new Set(looks.map((i) => mountings[i]!))].map((m) => centres[m] ?? null),
  };
}

/** Number of the mounting of each look. */
function mountingsOf({ happened }: Account): number[] {
  let mounting = 0;
  return happened.map((what, i) => {
    if (i > 0 && (what === 'declination' || what === 'both')) mounting++;
    return mounting;
  });
}

function centresOf(account: Account): (Vector | null)[] {
  return [...account.pastCentres, knowsAxis(account) ? account.state.centre : null];
}

/** Where the axis pointed at each look, by the account as it is now; null where it does not know. */
export function axesNow(account: Account, looks: readonly PoseLook[]): (Vector | null)[] {
  const centres = centresOf(account);
  return mountingsOf(account).map((mounting, i) => {
    const centre = centres[mounting] ?? null;
    return centre && apply(looks[i]!.pose, centre);
  });
}
