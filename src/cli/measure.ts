import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';
import { type PictureOptions, addPictureOptions } from './pictureOptions.js';
import { type SessionOptions, addSessionOptions } from './sessionOptions.js';

/** Adds `poleward measure`. What it needs is loaded when it runs. */
export function addMeasureCommand(program: Command): void {
  addPictureOptions(addSessionOptions(addCommonOptions(program.command('measure')
    .description('axis error from frames with right-ascension rotation between them')
    .argument('<frames...>', 'two or more frames near the pole'))))
    .action(async (all: string[], given: CommonOptions & SessionOptions & PictureOptions) => {
      if (all.length < 2) {
        const { PolewardError } = await import('../error.js');
        throw new PolewardError('too-few-frames', 'One frame alone does not show the axis. Give two or more, with the mount turned in right ascension between them.');
      }
      const { spreadFrames } = await import('../tasks/recognise/spreadFrames.js');
      const files = spreadFrames(all);
      if (given.picture !== undefined || given.pictureStar !== undefined) {
        const { checkPicture } = await import('../tasks/measure/pictureFile.js');
        checkPicture(given, files);
      }
      // First what takes time elsewhere: threads start and files are read while this thread loads the rest.
      const { startThreads } = await import('../node/starThreads.js');
      const threads = startThreads(files);
      const { withRig } = await import('../tasks/given/inForce.js');
      const options = withRig(given, files[0] ?? null);
      const { starsComing } = await import('../node/starsOfFrames.js');
      const stars = starsComing(files, options.utcOffset, threads);
      const { measureFrames } = await import('../tasks/measure/measureFrames.js');
      const { showMeasured } = await import('./showMeasured.js');
      const { guide } = await import('../tasks/measure/guidance.js');
      const { folderOf, happened, recordRotation, sessionAtHand } = await import('../node/sessionUse.js');
      const { measurementJson } = await import('../tasks/measure/measurementJson.js');
      const { marksOf } = await import('../tasks/measure/marksOf.js');
      const folder = folderOf(files);
      const measured = await measureFrames(stars, files.length, options, all.length);
      const guidance = guide(measured.measurement, options, sessionAtHand(folder, options, measured));
      const record = measurementJson(measured, guidance);
      const marks = marksOf(measured, guidance, options.pictureStar);
      const said = await recordRotation(folder, options, measured, record, marks, happened(measured.site ? guidance.cautions : []));
      await showMeasured(measured, guidance, record, said, options);
      if (options.picture !== undefined) {
        const { showPicture } = await import('../tasks/measure/pictureFile.js');
        await showPicture(measured, marks, options);
      }
    });
}
