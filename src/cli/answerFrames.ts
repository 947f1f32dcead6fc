import type { Limit } from '../night/said.js';
import { damageWarnings } from '../night/record/damage.js';
import type { Session } from '../night/record/session.js';
import { knobHistory } from '../node/earlierSessions.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { type OpenRecord, type ToRecord, record } from '../node/nightRecord.js';
import type { Notice } from '../remedy.js';
import type { Given } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { type Answer, type Done, NOTHING_DONE, answerOf as answerBy } from '../tasks/measure/answer.js';
import { limitInForce } from '../tasks/measure/limit.js';
import type { Measured } from '../tasks/measure/measureFrames.js';
import { plannedLimit } from '../tasks/measure/plannedLimit.js';
import type { CommonOptions } from './commonOptions.js';
import { sourced } from './given.js';
import type { PictureOptions } from './pictureOptions.js';
import type { SessionOptions } from './sessionOptions.js';

export { type Done, NOTHING_DONE };

export type AnswerOptions = CommonOptions & SessionOptions & PictureOptions;

/** An answer, ready to be shown. */
export interface Answered extends Answer {
  /** Where the session went or why it was not recorded, if that needs saying. */
  readonly notice: Notice | null;
}

/** The limit that the options, the rig file or its planned run give. */
export function limitFor(options: AnswerOptions, given: Given): Limit {
  return limitInForce(sourced(options.limit, '--limit'), given.rigFile, plannedLimit(given));
}

/** Guides and records an answer. */
export async function answered(measured: Measured, given: Given, open: OpenRecord, done: Done, options: AnswerOptions): Promise<Answered> {
  const damage = open.session ? damageWarnings(open.session) : [];
  const told = damage.length === 0 ? measured : { ...measured, warnings: [...measured.warnings, ...damage] };
  const { toRecord, ...answer } = answerOf(told, given, open.session, done, options);
  return { ...answer, notice: (await record(open, toRecord)).said };
}

/** An answer with its guidance, and the entries to record for it. */
export function answerOf(
  found: Measured, given: Given, session: Session | null, done: Done, options: AnswerOptions,
): Answer & { readonly toRecord: ToRecord } {
  return answerBy(found, {
    given, done, history: session && knobHistory(session, rigName(given.rigFile)), limit: limitFor(options, given),
    cautionsAgain: options.cautions ?? false, catalogue: embeddedCatalogue(), star: options.pictureStar, at: new Date(),
  });
}
