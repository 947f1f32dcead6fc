import { ARCSECOND } from '../geometry/angle.js';
import { type Vector, angleBetween, dot, subtract } from '../geometry/vector.js';
import type { Explanation } from './explanations.js';
import { logSum } from './gaussian.js';
import { axisCovariance, worstAxisSigma } from './mountState.js';
import type { Matrix2 } from './gaussian.js';
import type { PoseLook } from './poseLook.js';
import { type Account, type Setting, accountsFrom, axesNow, isConfirmed, knowsAxis, weighLook } from './weigh.js';

/** The answer at a look, from it and those before it. */
export interface PoseAnswer {
  /** What probably happened before the look. */
  readonly happened: Explanation;
  /** Local direction of the axis; null where the looks don't show it yet. */
  readonly axis: Vector | null;
  /** Along up and right at the axis, radians²; `amongAccounts` included. */
  readonly covariance: Matrix2 | null;
  /** Extra covariance, from accounts that lead nearly to the same answer: a small tap that may or may not have happened. */
  readonly amongAccounts: Matrix2;
  /** Only two looks stand behind the camera's place on the mount: nothing would show a slip. */
  readonly unconfirmed: boolean;
  /** Another account of the looks that leads elsewhere and can't be ruled out; null where there is none. */
  readonly doubt: PoseDoubt | null;
}

export interface PoseDoubt {
  /** The weight of all accounts that lead elsewhere, 0 to 1. */
  readonly probability: number;
  /** What the likeliest of them says happened before the look. */
  readonly happened: Explanation;
  /** Where its axis is; null where it says that nothing is known yet. */
  readonly axis: Vector | null;
  /** The look, from 0, before which the two differ first. */
  readonly since: number;
}

/** A look that was answered wrongly, as those after it showed. */
export interface PoseCorrection {
  /** From 0. */
  readonly look: number;
  readonly thought: Explanation;
  readonly happened: Explanation;
  /** Where the axis pointed; the earlier answer is in the look itself. */
  readonly axis: Vector;
}

/** What follows from the poses of a night's looks. */
export interface PoseUnderstanding {
  readonly answers: readonly PoseAnswer[];
  readonly accounts: readonly Account[];
  /** The first looks of each stretch that can be compared, in the likeliest account. */
  readonly corrections: readonly PoseCorrection[];
}

/** Two answers differ if they are farther apart than this, and than six of the sigmas. */
const DIFFERS = 3 * ARCSECOND;
const SIGMAS = 6;
const OTHERS_SIGMAS = 3;
/** Accounts that lead elsewhere are a doubt if together they weigh more than this. */
export const DOUBT = 0.008;

/** Understands the looks of one night, in the order of time. A pure function: the same looks give the same understanding. */
export function understandPoses(looks: readonly PoseLook[], setting: Setting): PoseUnderstanding {
  const answers: PoseAnswer[] = [];
  let accounts: readonly Account[] = [];
  looks.forEach((look, i) => {
    accounts = i === 0 ? accountsFrom(look, setting, null) : weighLook(accounts, looks.slice(0, i + 1), setting);
    answers.push(answerOf(accounts));
  });
  return { answers, accounts, corrections: accounts.length > 0 ? correct(accounts[0]!, answers, looks) : [] };
}

/** The answer that all accounts after a look give together. */
export function answerOf(accounts: readonly Account[]): PoseAnswer {
  const best = accounts[0]!;
  const known = knowsAxis(best);
  const unconfirmed = !isConfirmed(best);
  const tolerance = (other: Account): number =>
    Math.max(DIFFERS, SIGMAS * worstAxisSigma(best.state), OTHERS_SIGMAS * worstAxisSigma(other.state));
  const others = accounts.slice(1).filter((other) => (knowsAxis(other)
    ? known && angleBetween(other.state.axis, best.state.axis) > tolerance(other)
    // With two looks nothing speaks against a move between them: that is said separately.
    : known && !unconfirmed));
  const amongAccounts = known ? spread(best, accounts.filter((other) => !others.includes(other) && knowsAxis(other))) : NONE;
  const probability = others.length === 0 ? 0 : Math.exp(logSum(others.map((o) => o.logWeight)));
  return {
    happened: best.happened.at(-1)!,
    axis: known ? best.state.axis : null,
    covariance: known ? sum(axisCovariance(best.state), amongAccounts) : null,
    amongAccounts,
    unconfirmed: known && unconfirmed,
    doubt: known && probability > DOUBT ? doubtOf(best, others[0]!, probability) : null,
  };
}

const NONE: Matrix2 = [0, 0, 0, 0];

function sum(a: Matrix2, b: Matrix2): Matrix2 {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3]];
}

/** The scatter of the accounts' axes about the best one's, weighted: along up and right at that, radians². */
function spread({ state: { axis, axisAlong: [up, right] } }: Account, accounts: readonly Account[]): Matrix2 {
  let [uu, ur, rr] = [0, 0, 0];
  for (const { state, logWeight } of accounts) {
    const off = subtract(state.axis, axis);
    const [u, r, weight] = [dot(off, up), dot(off, right), Math.exp(logWeight)];
    uu += weight * u * u;
    ur += weight * u * r;
    rr += weight * r * r;
  }
  return [uu, ur, ur, rr];
}

function doubtOf(best: Account, other: Account, probability: number): PoseDoubt {
  const since = other.happened.findIndex((what, i) => what !== best.happened[i]);
  return {
    probability, happened: other.happened[since < 0 ? other.happened.length - 1 : since]!,
    since: since < 0 ? other.happened.length - 1 : since,
    axis: knowsAxis(other) ? other.state.axis : null,
  };
}

/** Where the likeliest account differs from earlier answers. */
export function correct(best: Account, answers: readonly PoseAnswer[], looks: readonly PoseLook[]): PoseCorrection[] {
  const now = axesNow(best, looks);
  return answers.flatMap((answer, look) => {
    const axis = now[look]!;
    if (!axis || !answer.axis || !answer.covariance) return [];
    const [a, , , d] = answer.covariance;
    if (angleBetween(axis, answer.axis) <= Math.max(DIFFERS, SIGMAS * Math.sqrt(Math.max(a, d)))) return [];
    return [{ look, thought: answer.happened, happened: best.happened[look]!, axis }];
  });
}
