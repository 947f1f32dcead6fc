import type { Command } from 'commander';
import type { Session } from '../night/record/session.js';
import type { Given } from '../tasks/given/given.js';
import type { Done } from './answerFrames.js';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';
import { type PictureOptions, addPictureOptions } from './pictureOptions.js';
import { type SessionOptions, addSessionOptions } from './sessionOptions.js';
import { type TimeOptions, addTimeOptions, timesFor } from './timeOptions.js';

interface RecheckOptions extends CommonOptions, SessionOptions, PictureOptions, TimeOptions {
  readonly turned?: string[];
  readonly followed?: boolean;
}

/** Adds `poleward recheck`. */
export function addRecheckCommand(program: Command): void {
  addTimeOptions(addPictureOptions(addSessionOptions(addCommonOptions(program.command('recheck')
    .description('what is left after a knob was turned, from one new frame or more')
    .argument('<frames...>', 'new frames of the night, or their folder')
    .option('--turned <knob=turns>', 'what was turned since the last look: azimuth=+0.5, clockwise positive; may be repeated',
      (text: string, before: string[] | undefined) => [...(before ?? []), text])
    .option('--followed', 'the last advice was followed as given')))))
    .action(async (named: string[], options: RecheckOptions) => {
      const { PolewardError } = await import('../error.js');
      const { framesIn } = await import('../node/framesIn.js');
      const files = framesIn(named);
      if (options.picture !== undefined || options.pictureStar !== undefined) {
        const { checkPicture } = await import('./pictureFile.js');
        checkPicture(options, files);
      }
      if (options.turned && options.followed) {
        throw new PolewardError('bad-option', 'Either the advice was followed or other turns were made. Give --followed or --turned, '
          + 'not both.');
      }
      if (options.session === false) {
        throw new PolewardError('bad-option', 'A recheck needs the session, which holds the measurement before it. Leave '
          + 'out --no-session.');
      }
      const times = await timesFor(options, files);
      const { givenFor } = await import('./given.js');
      const { folderOf, openForRecheck, whereAndWhen } = await import('../node/nightRecord.js');
      const { checkSession } = await import('../night/record/checkSession.js');
      const given = givenFor(options, files[0] ?? null);
      const open = openForRecheck(folderOf(files), options.session);
      const done = await doneBefore(open.session, given, options);
      const { starsComing } = await import('../node/starsOfFiles.js');
      const { progress } = await import('./progress.js');
      const { seeFrames } = await import('../tasks/measure/seeFrames.js');
      const { embeddedCatalogue } = await import('../node/embeddedCatalogue.js');
      const { measured, nightBefore, requireLowEnough } = await import('../tasks/measure/measureFrames.js');
      const { cameraOf } = await import('../night/record/nightOfSession.js');
      const before = { site: open.session.start.site, camera: cameraOf(open.session) };
      const { clockZone } = await import('../tasks/given/given.js');
      const { timedAll } = await import('../tasks/recognise/timesGiven.js');
      const { withRests } = await import('../node/breathe.js');
      const stars = timedAll(starsComing(files, clockZone(given)), times);
      const seen = await seeFrames(stars, files.length, given, embeddedCatalogue(), progress, before, withRests);
      if (seen.known.length > 0) checkSession(open.session, whereAndWhen(seen));
      const { saidOf } = await import('../tasks/measure/happened.js');
      const request = { ...given, today: new Date(), before: saidOf(done.turned), turnedOnly: false };
      const found = measured(seen, nightBefore(seen, open.session, null), request);
      requireLowEnough(found);
      const { answered } = await import('./answerFrames.js');
      const { sayWarnings, showMeasured } = await import('./showMeasured.js');
      // Part of the night's record could not be read: the answer uses the rest.
      sayWarnings(open.session.warnings, options.night ?? false);
      await showMeasured(await answered(found, given, open, done, options), options);
    });
}

/** What the options say was turned. Throws PolewardError `bad-option` for text that is not a turn. */
async function doneBefore(session: Session, { rigFile }: Given, { turned, followed }: RecheckOptions): Promise<Done> {
  const { followedTurns, parseTurned } = await import('../knobs/parseTurned.js');
  if (!followed) return { turned: parseTurned(turned ?? []), advised: null };
  const { adviceBefore } = await import('../tasks/measure/guidance.js');
  const { knobHistory } = await import('../node/earlierSessions.js');
  const { rigName } = await import('../tasks/given/rigInForce.js');
  const advised = adviceBefore(knobHistory(session, rigName(rigFile)), rigFile?.rig ?? null);
  return { turned: followedTurns(advised), advised };
}
