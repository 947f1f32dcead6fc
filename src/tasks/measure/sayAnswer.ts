import { type WhatIsSaid, type Limit, whatIsSaid } from '../../night/said.js';
import { aimedError } from '../../axis/aim.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import { answerAt } from '../../night/night.js';
import type { Guidance } from './guidance.js';
import type { Measured } from './measureFrames.js';

/** What of an answer decides the words; `given`: the looks that it answers. */
export interface AnswerToSay extends Pick<Measured, 'measurement' | 'doubts' | 'unconfirmed' | 'site' | 'night' | 'look'> {
  readonly given: readonly Pick<Measured['given'][number], 'look'>[];
}

/** What every front says of an answer. */
export function sayAnswer(measured: AnswerToSay, { advice, rig }: Guidance, limit: Limit): WhatIsSaid {
  const { measurement, doubts, unconfirmed } = measured;
  return whatIsSaid(measurement, {
    advice: measured.site ? advice : [], rig, limit, doubts, unconfirmed, stillWithin: stillWithin(measured, limit),
  });
}

/** Nothing has moved since the look before the given frames, and at that look the axis was within the limit. */
function stillWithin({ night, given, look, measurement }: AnswerToSay, limit: Limit): boolean {
  const first = Math.min(look, ...given.map((g) => night.looks.findIndex((l) => l.utc === g.look.utc)));
  if (first < 1 || night.accounts[0]!.happened.slice(first).some((what) => what !== 'same')) return false;
  const before = answerAt(night, measurement.aim, first - 1);
  return before !== null && night.answers[first - 1]!.axis !== null && aimedError(before.axis).separation / ARCMINUTE <= limit.arcmin;
}
