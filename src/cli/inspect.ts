import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';

interface InspectOptions extends CommonOptions {
  readonly wcs?: string;
  readonly overwrite?: boolean;
}

/** Adds `poleward inspect`. */
export function addInspectCommand(program: Command): void {
  addCommonOptions(program.command('inspect')
    .description('one frame: its stars, where it points, its scale')
    .argument('<frame>', 'a frame near the pole')
    .option('--wcs <file>', 'write a FITS header with the world coordinates of the frame')
    .option('--overwrite', 'replace the file of --wcs if it exists'))
    .action(async (file: string, options: InspectOptions) => {
      const { givenFor } = await import('./given.js');
      const { starsOfFiles } = await import('../node/starsOfFiles.js');
      const { progress } = await import('./progress.js');
      const given = givenFor(options, file);
      const [stars] = await starsOfFiles([file], given.utcOffsetMinutes?.value, progress);
      const { inspectFrame, inspectionJson, inspectionText } = await import('../tasks/inspect/inspectFrame.js');
      const { embeddedCatalogue } = await import('../node/embeddedCatalogue.js');
      const { say, sayJson } = await import('./output.js');
      const { withRests } = await import('../node/breathe.js');
      const inspected = await inspectFrame(stars!, given, embeddedCatalogue(), withRests);
      if (options.wcs) {
        const { wcsFile } = await import('../tasks/inspect/wcsFile.js');
        const { writeWhole } = await import('../node/wholeFile.js');
        writeWhole(options.wcs, wcsFile(inspected.known), options.overwrite ?? false);
      }
      if (options.json) {
        const { wordedRecord } = await import('./showMeasured.js');
        sayJson(wordedRecord(inspectionJson(inspected)));
        return;
      }
      const { remedyWords } = await import('./remedyWords.js');
      say(inspectionText(inspected, remedyWords), options.night ?? false);
      if (options.wcs) say(`world coordinates written to ${options.wcs}`, options.night ?? false);
    });
}
