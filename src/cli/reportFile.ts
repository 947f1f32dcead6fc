import { dirname, extname, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import type { Frame } from '../frames/frame.js';
import { readFrame } from '../node/readFrame.js';
import type { KeptPicture } from '../night/record/entry.js';
import type { Session } from '../night/record/session.js';
import type { Story } from '../night/record/story.js';
import { knobHistory } from '../node/earlierSessions.js';
import { encodeJpeg } from '../node/encodePicture.js';
import { VERSION } from '../node/version.js';
import { checkWritable, writeWhole } from '../node/wholeFile.js';
import type { PlannedBudget } from '../tasks/budget/budgetPlan.js';
import type { Given } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import { type Report, reportOf } from '../tasks/log/report.js';
import { knobsLearned } from '../tasks/measure/guidance.js';
import { givenFor } from './given.js';
import { breathe } from '../node/breathe.js';
import type { CommonOptions } from './commonOptions.js';
import { endProgress, progress } from './progress.js';
import type { RunOptions } from './runOptions.js';

/** The rig whose knobs the report shows, and the planned run if there is one. */
export interface ReportOptions extends Partial<RunOptions>, Pick<CommonOptions, 'rig' | 'night' | 'focalLength' | 'pixelSize'> {
  readonly overwrite?: boolean;
}

/** Refuses a report that can't be written, before any work. Throws PolewardError `bad-option`. */
export function checkReport(path: string, overwrite: boolean): void {
  if (!/^\.html?$/i.test(extname(path))) throw new PolewardError('bad-option', `The report ${path} is a web page. Give it the ending `
    + `.html.`);
  checkWritable(path, overwrite);
}

/** Writes the session as one page. */
export async function writeReport(path: string, session: Session, story: Story, options: ReportOptions): Promise<Report> {
  const given = givenFor({ ...options, aim: story.aim }, session.path);
  // What is missing for the budget is said before the pictures, which take time.
  const planned = await plannedRun(session, given, options);
  const report = await reportOf(session, story, {
    planned, rigFile: given.rigFile, night: options.night ?? false, version: VERSION,
    learned: knobsLearned(knobHistory(session, rigName(given.rigFile)), given.rigFile?.rig ?? null),
  }, {
    encode: encodeJpeg, frameOf: (kept) => frameOf(session.path, kept),
    async drawing(begun, of) {
      progress('drawing', begun, of);
      // A frame may take a second to read: between two frames Ctrl-C must be handled.
      await breathe();
    },
  });
  endProgress();
  writeWhole(path, report.html, options.overwrite ?? false);
  return report;
}

/** No trouble with a frame may lose the report. */
async function frameOf(session: string, kept: KeptPicture): Promise<Frame | null> {
  try {
    return await readFrame(resolve(dirname(session), String(kept.frame)));
  } catch (error) {
    if (!(error instanceof PolewardError)) throw error;
    return null;
  }
}

async function plannedRun(session: Session, given: Given, options: ReportOptions): Promise<PlannedBudget | null> {
  const { declination, hours, exposure } = options;
  if (declination === undefined && hours === undefined && exposure === undefined) return null;
  if (declination === undefined || hours === undefined || exposure === undefined) {
    throw new PolewardError('bad-option', 'The planned run is incomplete. Give --declination, --hours and --exposure together, '
      + 'with --hour-angle or --right-ascension and --start.');
  }
  const { budgetOf } = await import('../tasks/budget/budgetPlan.js');
  const { runOf } = await import('./budgetRequest.js');
  return budgetOf({
    ...runOf({ ...options, declination, hours, exposure, refraction: options.refraction ?? true }), given, error: null, session,
  });
}
