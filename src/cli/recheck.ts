import type { Command } from 'commander';
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
    .action(async (files: string[], given: RecheckOptions) => {
      const { PolewardError } = await import('../error.js');
      const { withRig } = await import('../tasks/given/inForce.js');
      const { recheckFrames } = await import('../tasks/recheck/recheckFrames.js');
      const { adviceBefore, guide } = await import('../tasks/measure/guidance.js');
      const { followedTurns, parseTurned } = await import('../knobs/parseTurned.js');
      const { folderOf, happened, openForRecheck, recordRecheck, recordRotation } = await import('../node/sessionUse.js');
      const { measurementJson } = await import('../tasks/measure/measurementJson.js');
      const { marksOf } = await import('../tasks/measure/marksOf.js');
      const { showMeasured } = await import('./showMeasured.js');
      if (given.picture !== undefined || given.pictureStar !== undefined) {
        const { checkPicture } = await import('../tasks/measure/pictureFile.js');
        checkPicture(given, files);
      }
      if (given.turned && given.followed) {
        throw new PolewardError('bad-option', 'Either the advice was followed or other turns were made. Give --followed or --turned, not both.');
      }
      const options = withRig(given, files[0] ?? null);
      const folder = folderOf(files);
      const open = openForRecheck(folder, options);
      const advised = options.followed ? adviceBefore(open.session, options) : null;
      const turned = advised ? followedTurns(advised) : parseTurned(options.turned ?? []);
      const measured = await recheckFrames(files, options, open.base.entry.state, open.session.start.site);
      const guidance = guide(measured.measurement, options, open.session, turned);
      const record = measurementJson(measured, guidance);
      const marks = marksOf(measured, guidance, options.pictureStar);
      const before = happened(guidance.cautions, turned, advised);
      let said = open.place.said;
      if (measured.how === 'recheck') await recordRecheck(open, options, measured, record, marks, before);
      else said = await recordRotation(folder, { ...options, session: open.place.path }, measured, record, marks, before);
      await showMeasured(measured, guidance, record, said, options);
      if (options.picture !== undefined) {
        const { showPicture } = await import('../tasks/measure/pictureFile.js');
        await showPicture(measured, marks, options);
      }
    });
}
