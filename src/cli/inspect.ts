import { writeFileSync } from 'node:fs';
import type { Command } from 'commander';
import { PolewardError } from '../error.js';
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
      const { withRig } = await import('./inForce.js');
      const options = withRig(given, file);
      const { inspectFrame } = await import('./inspectFrame.js');
      const { say, sayJson } = await import('./output.js');
      const inspected = await inspectFrame(file, options);
      if (options.wcs) {
        const { wcsFile } = await import('./wcsFile.js');
        writeNew(options.wcs, wcsFile(inspected.known), options.overwrite ?? false);
      }
      if (options.json) {
        const { inspectionJson } = await import('./inspectFrame.js');
        sayJson(inspectionJson(inspected));
        return;
      }
      const { inspectionText } = await import('./inspectFrame.js');
      say(inspectionText(inspected), options.night ?? false);
      if (options.wcs) say(`world coordinates written to ${options.wcs}`, options.night ?? false);
    });
}

function writeNew(path: string, bytes: Uint8Array, overwrite: boolean): void {
  try {
    writeFileSync(path, bytes, { flag: overwrite ? 'w' : 'wx' });
  } catch (error) {
    throw cantWrite(path, error);
  }
}

function cantWrite(path: string, error: unknown): Error {
  const code = error instanceof Error && 'code' in error ? String(error.code) : String(error);
  if (code === 'EEXIST') return new PolewardError('bad-option', `${path} exists already. Give another name, or --overwrite.`);
  if (code === 'ENOENT') return new PolewardError('bad-option', `The folder of ${path} does not exist. Make it first.`);
  return new PolewardError('bad-option', `${path} can't be written (${code}). Give another place.`);
}
