import type { Warning } from '../../axis/warning.js';
import type { Adjustment } from '../../knobs/learnedKnobs.js';
import { type Doubt, doubtsAt } from '../../night/doubts.js';
import type { Look } from '../../night/look.js';
import { type Night, answerAt } from '../../night/night.js';
import { type MeasurementRecord, type Recorded, answersIn, entriesOf, timeOfAnswer } from '../../night/record/entry.js';
import type { Session } from '../../night/record/session.js';
import type { Limit, WhatIsSaid } from '../../night/said.js';
import type { LocalSky } from '../../sky/localSky.js';
import type { Given } from '../given/given.js';
import type { SiteInForce } from '../given/siteInForce.js';
import { type Guidance, guide } from './guidance.js';
import { type AnswerToSay, sayAnswer } from './sayAnswer.js';

/** What a recorded night says before its next frame: the answer to its last look, in the words in which that was given. */
export interface StandingAnswer extends AnswerToSay {
  /** The looks that came together with the last one, in the order of time. */
  readonly known: readonly { readonly sky: LocalSky }[];
  readonly guidance: Guidance;
  readonly said: WhatIsSaid;
  /** Given with the answer when it was recorded. */
  readonly warnings: readonly Warning[];
}

/** What it takes beside the night. */
export interface StandingRequest extends Pick<Given, 'aim' | 'rigFile'> {
  readonly site: SiteInForce | null;
  /** Of earlier nights of the rig. */
  readonly earlier: readonly Adjustment[];
  readonly limit: Limit;
}

/**
 * The answer that stands in a session; null where its looks give none.
 *
 * @param night understood from the session's looks
 */
export function standingAnswer(session: Session, night: Night, request: StandingRequest): StandingAnswer | null {
  const { aim, rigFile, site, earlier, limit } = request;
  const answer = answerAt(night, aim);
  if (!answer) return null;
  const look = night.looks.length - 1;
  const record = recordOf(session.recorded, night.looks[look]!);
  const given = lastGiven(session.recorded).map((l) => ({ look: l }));
  const guidance = guide(answer.axis, rigFile?.rig ?? null, { session, earlier }, true, null);
  const toSay: AnswerToSay = {
    measurement: answer.axis, night, look, given, site,
    doubts: [...doubtsAt(night, aim), ...turnSigns(record)], unconfirmed: night.answers.at(-1)!.unconfirmed,
  };
  const known = given.flatMap((g) => night.frames.filter((_, i) => night.looks[i]!.utc === g.look.utc));
  return {
    ...toSay, known, guidance, said: sayAnswer(toSay, guidance, limit), warnings: (record?.warnings ?? []) as readonly Warning[],
  };
}

/** The recorded answer to a look; null where the last one is about another. */
function recordOf(recorded: readonly Recorded[], { utc }: Look): MeasurementRecord | null {
  const last = answersIn(recorded).at(-1)?.entry;
  return last && timeOfAnswer(last) === utc ? last.measurement : null;
}

/** Doubts about a knob's direction rest on what the person said, which the looks do not hold. */
function turnSigns(record: MeasurementRecord | null): Doubt[] {
  return (record?.doubts ?? []).flatMap((d) => (d.code === 'turn-sign' ? [{ ...d, code: d.code }] : []));
}

/** The looks that were recorded together with the last one. */
function lastGiven(recorded: readonly Recorded[]): Look[] {
  const looks = entriesOf(recorded, 'look');
  const at = looks.at(-1)?.entry.at;
  return looks.filter(({ entry }) => entry.at === at).map(({ entry }) => entry.look)
    .sort((a, b) => Date.parse(a.utc) - Date.parse(b.utc));
}
