import type { KnobAdvice } from '../knobs/adviseTurns.js';
import type { KnobTurned } from '../knobs/learnedKnobs.js';
import type { Session } from '../night/record/session.js';
import { knobHistory } from '../node/earlierSessions.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { type OpenSession, type RecordedAnswer, folderOf, openForRotation, recordRecheck, recordRotation } from '../node/sessionUse.js';
import type { Given } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { type Guidance, guide } from '../tasks/measure/guidance.js';
import { happened } from '../tasks/measure/happened.js';
import { marksOf } from '../tasks/measure/marksOf.js';
import type { Measured } from '../tasks/measure/measureFrames.js';
import { measurementJson } from '../tasks/measure/measurementJson.js';
import type { Notice } from '../remedy.js';
import type { CommonOptions } from './commonOptions.js';
import type { PictureOptions } from './pictureOptions.js';
import type { SessionOptions } from './sessionOptions.js';
import { showMeasured } from './showMeasured.js';

type AnswerOptions = CommonOptions & SessionOptions & PictureOptions;

/** What the person did before a recheck. */
export interface Done {
  readonly turned: readonly KnobTurned[];
  /** The advice that was followed; null where none was. */
  readonly advised: readonly KnobAdvice[] | null;
}

/** Guides, records and shows a measurement with rotation. */
export async function answerRotation(measured: Measured, given: Given, files: readonly string[], options: AnswerOptions): Promise<void> {
  const open = openForRotation({ session: options.session, newSession: options.newSession, folder: folderOf(files) }, measured);
  const guidance = guideBy(open.session, measured, given, options, []);
  const answer = answerOf(measured, guidance, given, options, measured.site ? happened(new Date(), guidance.cautions) : []);
  await show(answer, guidance, await recordRotation(open, answer), options);
}

/** The same for a recheck; with two or more rotated frames it is a measurement, into the same session. */
export async function answerRecheck(measured: Measured, given: Given, open: OpenSession, done: Done, options: AnswerOptions): Promise<void> {
  const guidance = guideBy(open.session, measured, given, options, done.turned);
  const answer = answerOf(measured, guidance, given, options, happened(new Date(), guidance.cautions, done.turned, done.advised));
  let said: Notice | null = open.place.said === null ? null : { message: open.place.said };
  if (measured.how === 'recheck') await recordRecheck(open, answer);
  else said = await recordRotation(openForRotation({ session: open.place.path, folder: folderOf([open.place.path]) }, measured), answer);
  await show(answer, guidance, said, options);
}

function guideBy(session: Session | null, { measurement }: Measured, { rigFile }: Given, options: AnswerOptions, turned: readonly KnobTurned[]): Guidance {
  const history = session && knobHistory(session, rigName(rigFile));
  return guide(measurement, rigFile?.rig ?? null, history, options.cautions ?? false, turned);
}

function answerOf(
  measured: Measured, guidance: Guidance, { rigFile }: Given, options: AnswerOptions, before: RecordedAnswer['before'],
): RecordedAnswer {
  return {
    measured, before, rig: rigName(rigFile),
    record: measurementJson(measured, guidance), marks: marksOf(measured, guidance, embeddedCatalogue(), options.pictureStar),
  };
}

async function show({ measured, record, marks }: RecordedAnswer, guidance: Guidance, said: Notice | null, options: AnswerOptions): Promise<void> {
  await showMeasured(measured, guidance, record, said, options);
  if (options.picture === undefined) return;
  const { showPicture } = await import('./pictureFile.js');
  await showPicture(measured, marks, options);
}
