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
    .action(async (file: string, given: InspectOptions) => {
      const { withRig } = await import('../tasks/given/inForce.js');
      const options = withRig(given, file);
      const { inspectFrame } = await import('../tasks/inspect/inspectFrame.js');
      const { say, sayJson } = await import('./output.js');
      const inspected = await inspectFrame(file, options);
      if (options.wcs) {
        const { wcsFile } = await import('../tasks/inspect/wcsFile.js');
        const { writeWhole } = await import('../node/wholeFile.js');
        writeWhole(options.wcs, wcsFile(inspected.known), options.overwrite ?? false);
      }
      if (options.json) {
        const { inspectionJson } = await import('../tasks/inspect/inspectFrame.js');
        sayJson(inspectionJson(inspected));
        return;
      }
      const { inspectionText } = await import('../tasks/inspect/inspectFrame.js');
      say(inspectionText(inspected), options.night ?? false);
      if (options.wcs) say(`world coordinates written to ${options.wcs}`, options.night ?? false);
    });
}
