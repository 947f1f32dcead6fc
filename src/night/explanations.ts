import { ARCMINUTE, DEGREE } from '../geometry/angle.js';
import { type Matrix2, logDensity, logSum } from './gaussian.js';
import type { Said } from './poseLook.js';

/**
 * What may have happened between two looks, beside any turn in right ascension: nothing; a knob was turned (or the tripod sank); the
 * declination or the camera moved; both.
 */
export type Explanation = 'same' | 'knob' | 'declination' | 'both';

export const EXPLANATIONS: readonly Explanation[] = ['same', 'knob', 'declination', 'both'];

/** A move of the axis on the sky, radians: up, and to the right as one faces along it (the azimuth knob's angle times the cosine of '
  + 'the altitude). */
export interface Move {
  readonly right: number;
  readonly up: number;
}

/** What is known of the time between two looks before the new one is compared with the old one. */
export interface Between {
  /** The mount was turned by more than its drive does. */
  readonly slewed: boolean;
  /** The move that the person was advised to make; null where the axis was not known yet. */
  readonly advised: Move | null;
  readonly said: Said | undefined;
  /** Part of the record between the two could not be read. */
  readonly gap: boolean;
  /** Up and down are known: a knob by itself moves the axis along or across them. */
  readonly levelKnown: boolean;
}

/**
 * How often people do each of these between two looks. Our own estimates, not measured: after an answer nearly half of the looks follow a
 * knob; a declination axis moves by accident before one look in two hundred, with a slew one in fifty. The results hardly change if they
 * are wrong by a factor of two (see README.md beside this file).
 */
export function priorOf({ slewed, advised, said, gap }: Between): Readonly<Record<Explanation, number>> {
  // Looks may be missing, with all that was done before them: what was said of the last step need not be all.
  if (gap) return { same: 0.3, knob: 0.45, declination: 0.1, both: 0.15 };
  if (said?.did === 'turned-only') return { same: 0.984, knob: 0.003, declination: 0.012, both: 0.001 };
  if (said?.did === 'knobs') return { same: 0.05, knob: 0.94, declination: 0.005, both: 0.005 };
  if (!advised) return { same: slewed ? 0.97 : 0.975, knob: 0.01, declination: slewed ? 0.015 : 0.01, both: 0.005 };
  return slewed ? { same: 0.57, knob: 0.4, declination: 0.02, both: 0.01 } : { same: 0.5, knob: 0.493, declination: 0.005, both: 0.002 };
}

/** Sizes that moves of a knob and of the declination may have, radians: equal steps of their logarithm. */
const KNOB_SIZES = steps(0.1 * ARCMINUTE, 5 * DEGREE, 8);
const DECLINATION_SIZES = steps(0.1 * ARCMINUTE, 30 * DEGREE, 9);
/** A knob alone also moves the axis in the other direction by this share: the tilt of a base that is not quite level. */
const TILT = 0.02;
/** How far a hand that follows an advice misses: a share of the move, and at least this angle, radians. */
const MISSES = 0.4;
const LEAST_MISS = 0.1 * ARCMINUTE;
/**
 * The kinds of move when a knob was turned, with their shares: one knob as advised, both as advised, one knob otherwise, both otherwise.
 */
const ONE_ADVISED = 0.3;
const BOTH_ADVISED = 0.16;
const ONE_FREE = 0.08;
const BOTH_FREE = 0.08;

/**
 * Natural logarithm of the density (radians⁻²) of a move that looks like `seen`, for each explanation.
 *
 * @param noise covariance of `seen` (right, up): of both looks and of all that was known before
 */
export function likelihoods(seen: Move, noise: Matrix2, between: Between): Readonly<Record<Explanation, number>> {
  const same = logDensity(seen.right, seen.up, noise);
  const knob = knobDensity(seen, noise, between);
  const declination = logSum(DECLINATION_SIZES.map((s) => logDensity(seen.right, seen.up, widened(noise, s, s)))) - Math.log(
    DECLINATION_SIZES.length,
  );
  return { same, knob, declination, both: declination };
}

function knobDensity(seen: Move, noise: Matrix2, { advised, said, gap, levelKnown }: Between): number {
  const { right: x, up: y } = seen;
  // In a gap more knobs may have been turned than in one step.
  if (!levelKnown || gap) return logSum(KNOB_SIZES.map((s) => logDensity(x, y, widened(noise, s, s)))) - Math.log(KNOB_SIZES.length);
  const named = said?.did === 'knobs' ? said.knobs : [];
  // A knob that the person named takes most of the weight.
  const weightOf = (knob: 'azimuth' | 'altitude'): number => (named.length === 0 ? 1 : named.length === 1 && named[0] === knob ? 1.9 : 0.1);
  const bothWeight = named.length === 2 ? 8 : named.length === 1 ? 0.2 : 1;
  const terms: number[] = [];
  const add = (weight: number, density: number): void => { if (weight > 0) terms.push(Math.log(weight) + density); };
  let spare = 0;
  const towards = (weight: number, right: number, up: number): void => {
    const size = Math.hypot(right, up);
    const spreadOf = (part: number): number => Math.hypot(MISSES * part, TILT * size, part === 0 ? 0 : LEAST_MISS);
    const [rightSpread, upSpread] = [spreadOf(right), spreadOf(up)];
    add(weight, logDensity(x - right, y - up, widened(noise, rightSpread, upSpread)));
  };
  if (advised) {
    towards(ONE_ADVISED * weightOf('azimuth'), advised.right, 0);
    towards(ONE_ADVISED * weightOf('altitude'), 0, advised.up);
    towards(BOTH_ADVISED * bothWeight, advised.right, advised.up);
  } else {
    spare = (2 * ONE_ADVISED + BOTH_ADVISED) / (2 * ONE_FREE + BOTH_FREE);
  }
  const share = (1 + spare) / KNOB_SIZES.length;
  for (const s of KNOB_SIZES) {
    add(ONE_FREE * share * weightOf('azimuth'), logDensity(x, y, widened(noise, s, TILT * s)));
    add(ONE_FREE * share * weightOf('altitude'), logDensity(x, y, widened(noise, TILT * s, s)));
    add(BOTH_FREE * share * bothWeight, logDensity(x, y, widened(noise, s, s)));
  }
  return logSum(terms);
}

function widened([a, b, c, d]: Matrix2, right: number, up: number): Matrix2 {
  return [a + right * right, b, c, d + up * up];
}

function steps(from: number, to: number, count: number): number[] {
  return Array.from({ length: count }, (_, k) => from * (to / from) ** (k / (count - 1)));
}
