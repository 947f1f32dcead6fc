import type { Command } from 'commander';
import type { Night } from '../night/night.js';
import type { Session } from '../night/record/session.js';
import type { Given } from '../tasks/given/given.js';
import type { StandingAnswer } from '../tasks/measure/standingAnswer.js';
import { quantity } from './commonOptions.js';
import type { ReportOptions } from './reportFile.js';
import { addRunOptions } from './runOptions.js';

interface LogOptions extends ReportOptions {
  readonly session?: string;
  readonly report?: string;
  readonly json?: boolean;
}

/** What stands to be done by the night, at the place that it records; null where it gives no answer. */
async function standingIn(session: Session, night: Night, given: Given): Promise<StandingAnswer | null> {
  const { limitFor } = await import('./answerFrames.js');
  const { siteWithAzimuth } = await import('../tasks/given/siteInForce.js');
  const { givenValues } = await import('../tasks/given/given.js');
  const { standingAnswer } = await import('../tasks/measure/standingAnswer.js');
  const { knobHistory } = await import('../node/earlierSessions.js');
  const { rigName } = await import('../tasks/given/rigInForce.js');
  const site = siteWithAzimuth(givenValues({}, null), [], session.start.site);
  const { earlier } = knobHistory(session, rigName(given.rigFile));
  return standingAnswer(session, night, { ...given, site, earlier, limit: limitFor({ aim: given.aim }, given) });
}

/** Adds `poleward log`. */
export function addLogCommand(program: Command): void {
  addRunOptions(program.command('log'))
    .description('the session so far: error after each step, what was turned, what it did; with --report and a planned run '
      + '(--declination …) its budget too')
    .option('--session <file>', 'the session to show; else the newest in this folder')
    .option('--report <file>', 'write the night as one HTML page with its pictures, to keep or print')
    .option('--overwrite', 'replace the report if it exists')
    .option('--rig <file>', 'whose knobs the report speaks of; else found as the other commands find it')
    .option('--focal-length <mm>', 'of the telescope or lens of the planned run, for the report', quantity('focal length', 1, 20000, 'mm'))
    .option('--pixel-size <µm>', 'likewise', quantity('pixel size', 0.1, 1000, 'µm'))
    .option('--night', 'dim red text')
    .option('--json', 'for programs')
    .action(async (options: LogOptions) => {
      const { attempt, PolewardError } = await import('../error.js');
      const { placeToRead } = await import('../node/sessionPlace.js');
      const { readSession } = await import('../node/sessionFile.js');
      const { tellStory } = await import('../night/record/story.js');
      const { say, sayJson, textWidth, warn } = await import('./output.js');
      const { wrap } = await import('../tasks/words/numberWords.js');
      if (options.report !== undefined) {
        const { checkReport } = await import('./reportFile.js');
        checkReport(options.report, options.overwrite ?? false);
      }
      const { path, said } = placeToRead({ session: options.session, folder: process.cwd() });
      const session = readSession(path);
      if (!session) throw new PolewardError('no-session', `The session ${path} is empty. Measure first.`);
      const { nightAsRecorded } = await import('../night/record/nightOfSession.js');
      const { aimOf } = await import('../night/record/entry.js');
      const night = nightAsRecorded(session);
      const story = tellStory(session.recorded, night, aimOf(session.recorded));
      if (options.report !== undefined) {
        const { writeReport } = await import('./reportFile.js');
        const { pictures, missing } = await writeReport(options.report, session, story, options);
        if (!options.json) {
          const counted = (n: number, what: string): string => `${n} ${what}${n === 1 ? '' : 's'}`;
          say(wrap(`report written to ${options.report}: ${counted(story.looks.length, 'look')}, `
            + `${counted(pictures, 'picture')}`
            + `${missing > 0 ? `, ${missing} without the frame, whose file is gone` : ''}`, 60, '  '), options.night ?? false);
          if (said) warn(wrap(said, 60, '  '), options.night ?? false);
          const { sayWarnings } = await import('./showMeasured.js');
          sayWarnings(session.warnings, options.night ?? false);
          return;
        }
      }
      if (options.json) {
        const { logJson } = await import('../tasks/log/logJson.js');
        sayJson(logJson(session, story));
        return;
      }
      const { logText, todoText } = await import('../tasks/log/logText.js');
      const { styleOf } = await import('./showMeasured.js');
      const red = options.night ?? false;
      const { givenFor } = await import('./given.js');
      // A faulty rig file hides no night.
      const given = attempt(() => givenFor({ ...options, aim: story.aim }, session.path));
      const answer = given instanceof PolewardError ? null : await standingIn(session, night, given);
      say(logText(session.start, story, textWidth(), answer ? todoText(story, answer, styleOf({}, () => '')) : ''), red);
      if (said) warn(wrap(said, 60, '  '), red);
      const { sayWarnings } = await import('./showMeasured.js');
      sayWarnings(given instanceof PolewardError ? [...session.warnings, given] : session.warnings, red);
    });
}
