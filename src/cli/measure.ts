import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';
import { type PictureOptions, addPictureOptions } from './pictureOptions.js';
import { type SessionOptions, addSessionOptions } from './sessionOptions.js';
import { type TimeOptions, addTimeOptions, timesFor } from './timeOptions.js';

/** Adds `poleward measure`. What it needs is loaded when it runs. */
export function addMeasureCommand(program: Command): void {
  addTimeOptions(addPictureOptions(addSessionOptions(addCommonOptions(program.command('measure')
    .description('axis error from frames with right-ascension rotation between them')
    .argument('<frames...>', 'two or more frames, of the pole or anywhere 15° up, or their folder')))))
    .action(async (named: string[], options: CommonOptions & SessionOptions & PictureOptions & TimeOptions) => {
      const { spreadFrames, spreadTimes } = await import('../tasks/recognise/spreadFrames.js');
      const { framesIn } = await import('../node/framesIn.js');
      const all = framesIn(named);
      const files = spreadFrames(all);
      const times = spreadTimes(await timesFor(options, all));
      if (options.picture !== undefined || options.pictureStar !== undefined) {
        const { checkPicture } = await import('./pictureFile.js');
        checkPicture(options, files);
      }
      // First what takes time elsewhere: threads start and read files while this thread loads the rest.
      const { startThreads } = await import('../node/starThreads.js');
      const threads = startThreads(files);
      const { givenFor } = await import('./given.js');
      const given = givenFor(options, files[0] ?? null);
      const { starsComing } = await import('../node/starsOfFiles.js');
      const { clockZone } = await import('../tasks/given/given.js');
      const { timedAll } = await import('../tasks/recognise/timesGiven.js');
      const stars = timedAll(starsComing(files, clockZone(given), threads), times);
      const { seeFrames } = await import('../tasks/measure/seeFrames.js');
      const { embeddedCatalogue } = await import('../node/embeddedCatalogue.js');
      const { progress } = await import('./progress.js');
      const { withRests } = await import('../node/breathe.js');
      const seen = await seeFrames(stars, files.length, given, embeddedCatalogue(), progress, undefined, withRests);
      const { measured, nightBefore } = await import('../tasks/measure/measureFrames.js');
      const { folderOf, openForFrames, whereAndWhen } = await import('../node/nightRecord.js');
      const { answered, NOTHING_DONE } = await import('./answerFrames.js');
      const { showMeasured } = await import('./showMeasured.js');
      const open = openForFrames({ session: options.session, newSession: options.newSession, folder: folderOf(files) }, whereAndWhen(seen));
      const { rememberedFor } = await import('./remembered.js');
      const remembered = open.session ? null : rememberedFor(seen, folderOf(files), given, options);
      if (all.length < 2 && !remembered) {
        const { oneFrameOnly } = await import('../tasks/measure/oneFrameOnly.js');
        throw oneFrameOnly(seen);
      }
      const request = { ...given, today: new Date(), before: undefined, turnedOnly: all.length > 1 };
      const found = measured(seen, nightBefore(seen, open.session, remembered), request, all.length - files.length);
      await showMeasured(await answered(found, given, open, NOTHING_DONE, options), options);
    });
}
