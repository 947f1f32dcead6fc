import { aimedError } from '../../axis/aim.js';
import type { AxisResult } from '../../axis/axisResult.js';
import type { KnobTurned, LearnedKnobs } from '../../knobs/learnedKnobs.js';
import type { FacingRig } from '../../knobs/rigFacing.js';
import { clockwiseSign } from '../../knobs/travelPerTurn.js';
import { turnWords } from '../../knobs/turnWords.js';
import type { Doubt } from '../../night/doubts.js';
import { moveWords } from '../../night/motions.js';
import { type Recorded, answersIn } from '../../night/record/entry.js';

/** A move by more than this many of its sigmas has a direction. */
const CLEAR = 5;
/** Sums of turns smaller than this have no direction, turns. */
const LEAST_TURNS = 0.02;

/** What is known of the knobs before a turn. */
export interface KnownDirections {
  readonly rig: FacingRig | null;
  readonly learned: LearnedKnobs | null;
}

/**
 * Doubts about turns that moved the axis against their knob's known direction: more likely the sign was given wrongly than a screw was
 * changed. Raised once for a knob; if it happens again the frames are believed.
 *
 * @param recorded the session before this answer
 */
export function turnSignDoubts(
  before: AxisResult, now: AxisResult, turned: readonly KnobTurned[], { rig, learned }: KnownDirections, recorded: readonly Recorded[],
): Doubt[] {
  return (['azimuth', 'altitude'] as const).flatMap((knob): Doubt[] => {
    const turns = turned.filter((t) => t.knob === knob).reduce((sum, t) => sum + t.turns, 0);
    const known = learned?.[knob] ? Math.sign(learned[knob].travel) : clockwiseSign(rig?.knobs?.[knob]?.clockwise);
    const moved = aimedError(now)[knob] - aimedError(before)[knob];
    const sigma = Math.hypot(now.sigma[knob], before.sigma[knob]);
    if (!known || Math.abs(turns) < LEAST_TURNS || Math.abs(moved) < CLEAR * sigma
      || Math.sign(moved) === Math.sign(turns * known)) return [];
    if (askedBefore(recorded, knob)) return [];
    const way = turns < 0 ? 'counter-clockwise' : 'clockwise';
    return [{
      code: 'turn-sign',
      message: `By what you said, ${turnWords(turns)} ${way} moved ${knob} ${moveWords(knob, moved, sigma)}, the opposite of before. Is `
        + `the sign right?`,
      settle: 'Go on with this answer, and check the sign of the next turn: nothing is learned from this one.',
    }];
  });
}

function askedBefore(recorded: readonly Recorded[], knob: 'azimuth' | 'altitude'): boolean {
  return answersIn(recorded).some(
    ({ entry }) => entry.measurement.doubts?.some((d) => d.code === 'turn-sign' && d.message.includes(knob)) ?? false,
  );
}

