import type { KnobAdvice } from '../knobs/adviseTurns.js';
import type { KnobTurned } from '../knobs/learnedKnobs.js';
import type { Limit, WhatIsSaid } from '../night/said.js';
import { damageWarnings } from '../night/record/damage.js';
import type { MeasurementRecord } from '../night/record/entry.js';
import type { Session } from '../night/record/session.js';
import { knobHistory } from '../node/earlierSessions.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { type OpenRecord, type ToRecord, record, sessionSite } from '../node/nightRecord.js';
import type { FrameMarks } from '../picture/frameMarks.js';
import type { Notice } from '../remedy.js';
import type { Given } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { type Guidance, type KnobHistory, guide, knobsLearned } from '../tasks/measure/guidance.js';
import { turnSignDoubts } from '../tasks/measure/turnSign.js';
import type { Rig } from '../knobs/rig.js';
import { rigFacing } from '../knobs/rigFacing.js';
import type { Doubt } from '../night/doubts.js';
import { answerAt } from '../night/night.js';
import { happened } from '../tasks/measure/happened.js';
import { limitInForce } from '../tasks/measure/limit.js';
import { marksOf } from '../tasks/measure/marksOf.js';
import type { Measured } from '../tasks/measure/measureFrames.js';
import { measurementJson } from '../tasks/measure/measurementJson.js';
import { plannedLimit } from '../tasks/measure/plannedLimit.js';
import { sayAnswer } from '../tasks/measure/sayAnswer.js';
import { hemisphereSeen } from '../tasks/measure/seeFrames.js';
import type { CommonOptions } from './commonOptions.js';
import { sourced } from './given.js';
import type { PictureOptions } from './pictureOptions.js';
import type { SessionOptions } from './sessionOptions.js';

export type AnswerOptions = CommonOptions & SessionOptions & PictureOptions;

/** What the person did before the frames. */
export interface Done {
  readonly turned: readonly KnobTurned[];
  /** The advice that was followed; null where none was. */
  readonly advised: readonly KnobAdvice[] | null;
}

export const NOTHING_DONE: Done = { turned: [], advised: null };

/** An answer, ready to be shown. */
export interface Answered {
  readonly measured: Measured;
  readonly guidance: Guidance;
  readonly said: WhatIsSaid;
  readonly record: MeasurementRecord;
  readonly marks: FrameMarks;
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

/** An answer with its guidance, and what is to be recorded of it. */
export function answerOf(
  found: Measured, given: Given, session: Session | null, done: Done, options: AnswerOptions,
): Omit<Answered, 'notice'> & { readonly toRecord: ToRecord } {
  const rig = rigName(given.rigFile);
  const history = session && knobHistory(session, rig);
  const signs = signDoubts(found, given.rigFile?.rig ?? null, history, done);
  const measured = signs.length === 0 ? found : { ...found, doubts: [...found.doubts, ...signs] };
  // What is in doubt teaches nothing.
  const guidance = guide(
    measured.measurement, given.rigFile?.rig ?? null, history, options.cautions ?? false, measured.doubts.length > 0 ? null : done.turned,
  );
  const limit = limitFor(options, given);
  const said = sayAnswer(measured, guidance, limit);
  const json = measurementJson(measured, guidance, said, limit);
  const marks = marksOf(measured, guidance, embeddedCatalogue(), options.pictureStar);
  const shown = measured.site && said.within === false ? guidance.cautions : [];
  const { night, look, answer, known } = measured;
  const toRecord: ToRecord = {
    site: sessionSite(measured.site), hemisphere: hemisphereSeen(measured), rig, remembered: measured.night.setting.anchor,
    before: happened(new Date(), shown, done.turned, done.advised),
    looks: measured.given,
    answer: {
      utc: night.looks[look]!.utc, record: json, marks, camera: answer.camera,
      file: known.at(-1)?.frame.file ?? measured.given.at(-1)!.known.frame.file,
    },
  };
  return { measured, guidance: { ...guidance, cautions: shown }, said, record: json, marks, toRecord };
}

/** Turns that went against their knob's direction. */
function signDoubts({ night, given, measurement }: Measured, rig: Rig | null, history: KnobHistory | null, { turned }: Done): Doubt[] {
  if (turned.length === 0 || !history) return [];
  const first = night.looks.findIndex((l) => l.utc === given[0]!.look.utc);
  const before = first > 0 ? answerAt(night, measurement.aim, first - 1) : null;
  if (!before) return [];
  const known = { rig: rig && rigFacing(rig, measurement.hemisphere), learned: knobsLearned(history, rig) };
  return turnSignDoubts(before.axis, measurement, turned, known, history.session.recorded);
}
