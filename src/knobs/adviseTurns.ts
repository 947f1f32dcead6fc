import { ARCMINUTE } from '../geometry/angle.js';
import type { LearnedKnob, LearnedKnobs } from './learnedKnobs.js';
import type { KnobName, RigKnob } from './rig.js';
import type { FacingRig } from './rigFacing.js';
import { clockwiseSign, travelPerTurn } from './travelPerTurn.js';

/** An axis' error from the aimed pole, radians, and its one-sigma errors. */
export interface ErrorToTurnAway {
  readonly azimuth: number;
  readonly altitude: number;
  readonly sigma: { readonly azimuth: number; readonly altitude: number };
}

export type Direction = 'clockwise' | 'counter-clockwise';

/** The source of the travel of a turn. */
export interface TravelUsed {
  /** Arcminutes a turn, positive. */
  readonly arcminPerTurn: number;
  /** Null where the rig file gives it: its uncertainty is unknown. */
  readonly sigmaArcmin: number | null;
  readonly from: 'arcminPerTurn' | 'screw and lever arm' | 'learned';
  /** Adjustments it was learned from, 0 if given. */
  readonly count: number;
  /** The turns show that the rig file names the wrong direction for clockwise. */
  readonly againstRig: boolean;
}

/** What one knob must do. The first five are the JSON contract's. */
export interface KnobAdvice {
  readonly knob: KnobName;
  /** What this knob must do to the axis; with learned cross-talk its own share, since the other knob does the rest. */
  readonly move: 'east' | 'west' | 'raise' | 'lower';
  readonly arcmin: number;
  /** From where the knob stands to where it must end, never negative; null where the travel is unknown. */
  readonly turns: number | null;
  /** Seen facing the knob. */
  readonly direction: Direction | null;
  /** `turns` with its sign, clockwise positive; null where either is unknown. */
  readonly signedTurns: number | null;
  /** The turns to make one after the other, clockwise positive: one, or past the goal and back. Empty if there is nothing to turn. */
  readonly steps: readonly number[];
  /**
   * `leave`: right within its error. `below`: less than the knob can do. `tap`: under a twentieth of a turn. `turn`.
   * `find-direction`: how far is known, which way is not. `try`: nothing known, make the trial turn in `trial` and look again.
   */
  readonly act: 'leave' | 'below' | 'tap' | 'turn' | 'find-direction' | 'try';
  /** A trial turn, clockwise positive; null unless `act` is `try` or `find-direction`. */
  readonly trial: number | null;
  readonly sigmaArcmin: number;
  readonly travel: TravelUsed | null;
  /** Turns lost on reversing that are included, with sigma; null if none are known. */
  readonly backlash: { readonly turns: number; readonly sigma: number } | null;
}

/** Below this a hand taps the knob instead of turning it. */
const TAP = 0.05;
/** The smallest turn a hand can set unless the rig file says otherwise: a hundredth, 3.6°. */
const SMALLEST = 0.01;
/** How far past the goal and back if the play is unknown. */
const PAST = 0.25;

/**
 * The turns that remove an error: azimuth first, then altitude. Each knob ends in one direction, so that its play is always taken up on the
 * same side: altitude ends raising, against gravity; azimuth in the direction it was last turned. A move in the other direction goes past
 * the goal by a stated amount and comes back. Without a rig file and with nothing learned, `turns` is null and a trial turn is proposed.
 * Where cross-talk of the knobs was learned, both turns are solved for together.
 */
export function adviseTurns(errors: ErrorToTurnAway, rig: FacingRig | null, learned: LearnedKnobs | null): KnobAdvice[] {
  const azimuth = knownKnob(rig?.knobs?.azimuth, learned?.azimuth ?? null);
  const altitude = knownKnob(rig?.knobs?.altitude, learned?.altitude ?? null);
  let azimuthGoal = -errors.azimuth;
  let altitudeGoal = -errors.altitude;
  const cross = learned?.cross;
  if (cross && azimuth.perTurn !== null && altitude.perTurn !== null) {
    // Each knob's own share, so that the sum with the other knob's share is right.
    const determinant = azimuth.perTurn * altitude.perTurn - cross.azimuthByAltitude * cross.altitudeByAzimuth;
    const azimuthTurns = (azimuthGoal * altitude.perTurn - cross.azimuthByAltitude * altitudeGoal) / determinant;
    const altitudeTurns = (altitudeGoal * azimuth.perTurn - cross.altitudeByAzimuth * azimuthGoal) / determinant;
    azimuthGoal = azimuthTurns * azimuth.perTurn;
    altitudeGoal = altitudeTurns * altitude.perTurn;
  }
  return [
    advise('azimuth', errors.sigma.azimuth, azimuthGoal, azimuth),
    advise('altitude', errors.sigma.altitude, altitudeGoal, altitude),
  ];
}

interface KnownKnob {
  /** Radians of error for a clockwise turn, signed; null where travel or direction is unknown. */
  readonly perTurn: number | null;
  readonly sign: 1 | -1 | null;
  readonly travel: TravelUsed | null;
  readonly rig: RigKnob & { readonly pushPull?: true } | undefined;
  readonly learned: LearnedKnob | null;
  readonly backlash: { readonly turns: number; readonly sigma: number } | null;
}

function knownKnob(
  rig: (RigKnob & { readonly clockwise?: 'east' | 'west' | 'raise' | 'lower'; readonly pushPull?: true }) | undefined,
  learned: LearnedKnob | null,
): KnownKnob {
  const backlash = learned?.backlash ?? (rig?.backlashTurns ? { turns: rig.backlashTurns, sigma: rig.backlashTurns / 3 } : null);
  if (learned) {
    return {
      perTurn: learned.travel, sign: learned.travel > 0 ? 1 : -1, rig, learned, backlash,
      travel: {
        arcminPerTurn: Math.abs(learned.travel) / ARCMINUTE, sigmaArcmin: learned.sigma / ARCMINUTE, from: 'learned', count: learned.count,
        againstRig: learned.againstRig,
      },
    };
  }
  const sign = clockwiseSign(rig?.clockwise);
  const given = travelPerTurn(rig);
  return {
    perTurn: given && sign && given.perTurn * sign, sign, rig, learned, backlash,
    travel: given && { arcminPerTurn: given.perTurn / ARCMINUTE, sigmaArcmin: null, from: given.from, count: 0, againstRig: false },
  };
}

function advise(knob: KnobName, sigma: number, goal: number, known: KnownKnob): KnobAdvice {
  const { perTurn, sign, travel, learned, backlash } = known;
  const move = knob === 'azimuth' ? (goal > 0 ? 'east' : 'west') : (goal > 0 ? 'raise' : 'lower');
  const common = {
    knob, move, arcmin: rounded(Math.abs(goal) / ARCMINUTE, 3), sigmaArcmin: sigma / ARCMINUTE, travel, backlash,
  } as const;
  const right = Math.abs(goal) < 2 * sigma;
  if (perTurn === null) {
    const direction = sign === null ? null : toDirection(goal * sign);
    const turns = travel ? Math.abs(goal) / ARCMINUTE / travel.arcminPerTurn : null;
    // A quarter of the expected turn, or half a turn: easily seen, and not far off if it was the wrong direction.
    const size = Math.min(0.5, Math.max(0.1, turns === null ? (Math.abs(goal) > 10 * ARCMINUTE ? 0.5 : 0.25) : turns));
    return {
      ...common, turns: turns === null ? null : rounded(turns, 4), direction, signedTurns: null, steps: [],
      act: right ? 'leave' : turns === null ? 'try' : 'find-direction',
      trial: right ? null : rounded(size, 2) * (direction === 'counter-clockwise' ? -1 : 1),
    };
  }
  const net = goal / perTurn;
  // The direction in which the knob must end: altitude against gravity, azimuth as it was last turned. A push-pull pair has no play.
  const pushPull = known.rig?.pushPull === true;
  const ending = pushPull ? Math.sign(net) : knob === 'altitude' ? Math.sign(perTurn) : learned?.last ?? Math.sign(net);
  const takeUp = pushPull || !learned ? 0 : ending > 0 ? learned.slack.clockwise : learned.slack.counterClockwise;
  const signedTurns = net + ending * takeUp;
  const past = pastGoal(backlash);
  const size = Math.abs(net);
  const act = right ? 'leave' : size < (known.rig?.smallestTurn ?? SMALLEST) ? 'below' : size < TAP ? 'tap' : 'turn';
  const steps = act === 'leave' || act === 'below' ? []
    : Math.sign(net) === ending ? [signedTurns]
    : [signedTurns - ending * past, ending * past];
  return {
    ...common, turns: rounded(Math.abs(signedTurns), 4), direction: toDirection(signedTurns === 0 ? net : signedTurns),
    signedTurns: rounded(signedTurns, 4), steps: steps.map((s) => rounded(s, 4)), act, trial: null,
  };
}

/** Well past the play, as a fraction of a turn that a hand knows. */
function pastGoal(backlash: { readonly turns: number; readonly sigma: number } | null): number {
  if (!backlash) return PAST;
  const needed = backlash.turns + 2 * backlash.sigma + 0.02;
  return [0.125, 0.25, 0.5, 0.75].find((p) => p >= needed) ?? Math.ceil(needed);
}

function toDirection(turns: number): Direction {
  return turns < 0 ? 'counter-clockwise' : 'clockwise';
}

function rounded(value: number, digits: number): number {
  const factor = 10 ** digits;
  const r = Math.round(value * factor) / factor;
  return r === 0 ? 0 : r;
}
