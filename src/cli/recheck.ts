import type { Command } from 'commander';
import type { Session } from '../night/record/session.js';
import type { Given } from '../tasks/given/given.js';
import type { Done } from './answerFrames.js';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';
import { type PictureOptions, addPictureOptions } from './pictureOptions.js';
import { type SessionOptions, addSessionOptions } from './sessionOptions.js';

interface RecheckOptions extends CommonOptions, SessionOptions, PictureOptions {
  readonly turned?: string[];
  readonly followed?: boolean;
}

/** Adds `poleward recheck`. */
export function addRecheckCommand(program: Command): void {
  addPictureOptions(addSessionOptions(addCommonOptions(program.command('recheck')
    .description('what is left after a knob was turned, from one frame; the mount not slewed since the last measurement')
    .argument('<frames...>', 'one new frame (two or more with rotation are a new measurement)')
    .option('--turned <knob=turns>', 'what was turned since the last look: azimuth=+0.5, clockwise positive; may be given again',
      (text: string, before: string[] | undefined) => [...(before ?? []), text])
    .option('--followed', 'the last advice was followed as given'))))
    .action(async (files: string[], options: RecheckOptions) => {
      const { PolewardError } = await import('../error.js');
      if (options.picture !== undefined || options.pictureStar !== undefined) {
        const { checkPicture } = await import('./pictureFile.js');
        checkPicture(options, files);
      }
      if (options.turned && options.followed) {
        throw new PolewardError('bad-option', 'Either the advice was followed or other turns were made. Give --followed or --turned, not both.');
      }
      if (options.session === false) {
        throw new PolewardError('bad-option', 'A recheck goes by the session\'s last measurement, so it can\'t do without one. Leave out --no-session.');
      }
      const { givenFor } = await import('./given.js');
      const { folderOf, openForRecheck } = await import('../node/sessionUse.js');
      const given = givenFor(options, files[0] ?? null);
      const open = openForRecheck(folderOf(files), options.session);
      const done = await doneBefore(open.session, given, options);
      const { starsOfFiles } = await import('../node/starsOfFiles.js');
      const { progress } = await import('./progress.js');
      const stars = await starsOfFiles(files, given.utcOffsetMinutes?.value, progress);
      const { recheckFrames } = await import('../tasks/recheck/recheckFrames.js');
      const { embeddedCatalogue } = await import('../node/embeddedCatalogue.js');
      const measured = recheckFrames(stars, given, open.base.entry.state, open.session.start.site, embeddedCatalogue());
      const { answerRecheck } = await import('./answerFrames.js');
      await answerRecheck(measured, given, open, done, options);
    });
}

/** What the options say was turned. Throws PolewardError `bad-option` where it says no turn. */
async function doneBefore(session: Session, { rigFile }: Given, { turned, followed }: RecheckOptions): Promise<Done> {
  const { followedTurns, parseTurned } = await import('../knobs/parseTurned.js');
  if (!followed) return { turned: parseTurned(turned ?? []), advised: null };
  const { adviceBefore } = await import('../tasks/measure/guidance.js');
  const { knobHistory } = await import('../node/earlierSessions.js');
  const { rigName } = await import('../tasks/given/rigInForce.js');
  const advised = adviceBefore(knobHistory(session, rigName(rigFile)), rigFile?.rig ?? null);
  return { turned: followedTurns(advised), advised };
}
