import { type Aim, aimedPole } from '../axis/aim.js';
import { axisError } from '../axis/axisError.js';
import { DEGREE } from '../geometry/angle.js';
import { angleWords } from '../geometry/angleWords.js';
import { moveWords } from './motions.js';
import type { Explanation } from './explanations.js';
import type { Night, NightAnswer } from './night.js';
import { turnBetween } from './turnBetween.js';

/** What probably happened before a look, in one word for programs. */
export type Happening = 'first' | 'turned' | 'unchanged' | 'knob' | 'declination' | 'anew';

/** What happened before a look. */
export interface HappenedBefore {
  readonly what: Happening;
  /** Turn in right ascension since the look before, radians, west positive; null for the first. */
  readonly turn: number | null;
  /** How the axis moved, radians, + = raised, east as the knob's angle; null where it is not known. */
  readonly moved: { readonly altitude: number; readonly azimuth: number; readonly sigma: number } | null;
}

/** What happened before a look, as it was understood when the look came. */
export function happenedBefore(night: Night, look: number, aim: Aim): HappenedBefore {
  const { answers, frames, setting } = night;
  const answer = answers[look]!;
  if (look === 0) return { what: 'first', turn: null, moved: null };
  const axis = answer.axis ?? answers[look - 1]!.axis ?? aimedPole(frames[look]!.sky, setting.hemisphere, aim);
  const { turn, slewed } = turnBetween(frames[look - 1]!.pose, frames[look]!.pose, axis, setting.hemisphere);
  return { what: whatOf(answer.happened, slewed), turn, moved: answer.happened === 'knob' ? movedBetween(night, look, aim) : null };
}

/** The same as the night understands it now, with all later looks. */
export function happenedNow(night: Night, look: number, aim: Aim, answers: readonly (NightAnswer | null)[]): HappenedBefore {
  const { frames, setting, accounts } = night;
  if (look === 0) return { what: 'first', turn: null, moved: null };
  const now = answers[look] ?? null;
  const axis = now?.axis.axis ?? aimedPole(frames[look]!.sky, setting.hemisphere, aim);
  const { turn, slewed } = turnBetween(frames[look - 1]!.pose, frames[look]!.pose, axis, setting.hemisphere);
  const happened = accounts[0]!.happened[look]!;
  const before = answers[look - 1] ?? null;
  const moved = happened === 'knob' && now && before && setting.site ? {
    altitude: now.axis.fromTruePole.altitude - before.axis.fromTruePole.altitude,
    azimuth: now.axis.fromTruePole.azimuth - before.axis.fromTruePole.azimuth,
    sigma: Math.hypot(now.axis.sigma.separation, before.axis.sigma.separation),
  } : null;
  return { what: whatOf(happened, slewed), turn, moved };
}

function whatOf(happened: Explanation, slewed: boolean): Happening {
  return happened === 'same' ? (slewed ? 'turned' : 'unchanged') : happened === 'both' ? 'anew' : happened;
}

function movedBetween({ answers, frames, setting }: Night, look: number, aim: Aim): HappenedBefore['moved'] {
  const [before, now] = [answers[look - 1]!.axis, answers[look]!.axis];
  const covariance = answers[look]!.covariance;
  if (!before || !now || !covariance || !setting.site) return null;
  const pole = aimedPole(frames[look]!.sky, setting.hemisphere, aim);
  const [a, b] = [axisError(before, pole), axisError(now, pole)];
  return { altitude: b.altitude - a.altitude, azimuth: b.azimuth - a.azimuth, sigma: Math.sqrt(Math.max(covariance[0], covariance[3])) };
}

/** The same in words: "turned 31° west", "a knob moved the axis 11.00′ down". */
export function happenedWords({ what, turn, moved }: HappenedBefore): string {
  switch (what) {
    case 'first':
      return 'first frame of the night';
    case 'turned':
      return `turned ${Math.abs(turn! / DEGREE).toFixed(1)}° ${turn! > 0 ? 'west' : 'east'} in right ascension`;
    case 'unchanged':
      return 'nothing moved';
    case 'knob':
      return moved ? `the axis moved ${knobWords(moved)}` : 'the axis moved';
    case 'declination':
      return 'the declination or the camera moved, the axis did not';
    case 'anew':
      return 'axis and camera moved: what was known before no longer holds';
  }
}

/** Only what is significant. */
function knobWords({ altitude, azimuth, sigma }: NonNullable<HappenedBefore['moved']>): string {
  const parts = [
    ...(Math.abs(altitude) > 3 * sigma ? [moveWords('altitude', altitude, sigma)] : []),
    ...(Math.abs(azimuth) > 3 * sigma ? [moveWords('azimuth', azimuth, sigma)] : []),
  ];
  return parts.length > 0 ? parts.join(', ') : `by ${angleWords(Math.hypot(altitude, azimuth), sigma)}`;
}
