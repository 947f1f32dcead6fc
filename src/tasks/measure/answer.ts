import type { KnobAdvice } from '../../knobs/adviseTurns.js';
import type { KnobTurned } from '../../knobs/learnedKnobs.js';
import type { Rig } from '../../knobs/rig.js';
import { rigFacing } from '../../knobs/rigFacing.js';
import type { Doubt } from '../../night/doubts.js';
import { answerAt } from '../../night/night.js';
import type { MeasurementRecord } from '../../night/record/entry.js';
import type { Limit, WhatIsSaid } from '../../night/said.js';
import type { FrameMarks } from '../../picture/frameMarks.js';
import type { Catalogue } from '../../sky/catalogue.js';
import type { Given } from '../given/given.js';
import { rigName } from '../given/rigInForce.js';
import { type Guidance, type KnobHistory, guide, knobsLearned } from './guidance.js';
import { happened } from './happened.js';
import { marksOf } from './marksOf.js';
import type { Measured } from './measureFrames.js';
import { measurementJson } from './measurementJson.js';
import { sayAnswer } from './sayAnswer.js';
import { hemisphereSeen } from './seeFrames.js';
import { type ToRecord, sessionSite } from './toRecord.js';
import { turnSignDoubts } from './turnSign.js';

/** What the person did before the frames. */
export interface Done {
  readonly turned: readonly KnobTurned[];
  /** The advice that was followed; null where none was. */
  readonly advised: readonly KnobAdvice[] | null;
}

export const NOTHING_DONE: Done = { turned: [], advised: null };

/** An answer, ready to be shown. */
export interface Answer {
  readonly measured: Measured;
  readonly guidance: Guidance;
  readonly said: WhatIsSaid;
  readonly record: MeasurementRecord;
  readonly marks: FrameMarks;
}

/** What turns a measurement into an answer. */
export interface AnswerRequest {
  readonly given: Given;
  /** What is known of the knobs; null where nothing is recorded. */
  readonly history: KnobHistory | null;
  readonly done: Done;
  readonly limit: Limit;
  /** Also the cautions that were shown before. */
  readonly cautionsAgain: boolean;
  readonly catalogue: Catalogue;
  /** The star whose goal is drawn, as the person names it. */
  readonly star: string | undefined;
  /** The time of the answer. */
  readonly at: Date;
}

/**
 * An answer with its guidance, and the entries to record for it.
 *
 * @throws PolewardError `bad-option` for a star that can't be found
 */
export function answerOf(found: Measured, request: AnswerRequest): Answer & { readonly toRecord: ToRecord } {
  const { given, history, done, limit } = request;
  const rig = given.rigFile?.rig ?? null;
  const signs = signDoubts(found, rig, history, done);
  const measured = signs.length === 0 ? found : { ...found, doubts: [...found.doubts, ...signs] };
  // Nothing is learned from an answer in doubt.
  const guidance = guide(measured.measurement, rig, history, request.cautionsAgain, measured.doubts.length > 0 ? null : done.turned);
  const said = sayAnswer(measured, guidance, limit);
  const record = measurementJson(measured, guidance, said, limit);
  const marks = marksOf(measured, guidance, request.catalogue, request.star);
  const shown = measured.site && said.within === false ? guidance.cautions : [];
  const { night, look, answer, known } = measured;
  const toRecord: ToRecord = {
    site: sessionSite(measured.site), hemisphere: hemisphereSeen(measured), rig: rigName(given.rigFile),
    remembered: measured.night.setting.anchor,
    before: happened(request.at, shown, done.turned, done.advised),
    looks: measured.given,
    answer: {
      utc: night.looks[look]!.utc, record, marks, camera: answer.camera,
      file: known.at(-1)?.frame.file ?? measured.given.at(-1)!.known.frame.file,
    },
  };
  return { measured, guidance: { ...guidance, cautions: shown }, said, record, marks, toRecord };
}

/** Turns that moved the axis against their knob's direction. */
function signDoubts({ night, given, measurement }: Measured, rig: Rig | null, history: KnobHistory | null, { turned }: Done): Doubt[] {
  if (turned.length === 0 || !history) return [];
  const first = night.looks.findIndex((l) => l.utc === given[0]!.look.utc);
  const before = first > 0 ? answerAt(night, measurement.aim, first - 1) : null;
  if (!before) return [];
  const known = { rig: rig && rigFacing(rig, measurement.hemisphere), learned: knobsLearned(history, rig) };
  return turnSignDoubts(before.axis, measurement, turned, known, history.session.recorded);
}
