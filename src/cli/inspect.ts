import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';
import { type TimeOptions, addTimeOptions, timesFor } from './timeOptions.js';

interface InspectOptions extends CommonOptions, TimeOptions {
  readonly wcs?: string;
  readonly overwrite?: boolean;
}

/** Adds `poleward inspect`. */
export function addInspectCommand(program: Command): void {
  addTimeOptions(addCommonOptions(program.command('inspect')
    .description('one frame: its stars, where it points, its scale')
    .argument('<frame>', 'a frame')
    .option('--wcs <file>', 'write a FITS header with the world coordinates of the frame')
    .option('--overwrite', 'replace the file of --wcs if it exists')))
    .action(async (file: string, options: InspectOptions) => {
      const { givenFor } = await import('./given.js');
      const { starsOfFiles } = await import('../node/starsOfFiles.js');
      const { progress } = await import('./progress.js');
      const given = givenFor(options, file);
      const { clockZone } = await import('../tasks/given/given.js');
      const { timed } = await import('../tasks/recognise/timesGiven.js');
      const times = await timesFor(options, [file]);
      const stars = timed((await starsOfFiles([file], clockZone(given), progress))[0]!, times, 0);
      const { inspectFrame } = await import('../tasks/inspect/inspectFrame.js');
      const { embeddedCatalogue } = await import('../node/embeddedCatalogue.js');
      const { say, sayJson } = await import('./output.js');
      const { withRests } = await import('../node/breathe.js');
      const inspected = await inspectFrame(stars, given, embeddedCatalogue(), new Date(), withRests);
      const { known, assumedTime, hindrances } = inspected;
      if (options.wcs && known) {
        const { wcsFile } = await import('../tasks/inspect/wcsFile.js');
        const { writeWhole } = await import('../node/wholeFile.js');
        writeWhole(options.wcs, wcsFile(known, assumedTime === null), options.overwrite ?? false);
      }
      if (options.json) {
        const { wordedRecord } = await import('./showMeasured.js');
        const { inspectionJson } = await import('../tasks/inspect/inspectionJson.js');
        sayJson(wordedRecord(inspectionJson(inspected)));
      } else {
        const { remedyWords } = await import('./remedyWords.js');
        const { inspectionText } = await import('../tasks/inspect/inspectionText.js');
        say(inspectionText(inspected, remedyWords), options.night ?? false);
        if (options.wcs && known) say(`world coordinates written to ${options.wcs}`, options.night ?? false);
      }
      if (known) return;
      // The rest has been shown; that the stars are not recognised is still an error.
      const { PolewardError } = await import('../error.js');
      throw new PolewardError(hindrances.at(-1)!.code, hindrances.map(({ message }) => message).join('\n'), {
        remedies: hindrances.flatMap(({ remedies }) => remedies ?? []),
      });
    });
}
