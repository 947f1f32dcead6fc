import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';

/** Adds `poleward measure`. What it needs is loaded when it runs. */
export function addMeasureCommand(program: Command): void {
  addCommonOptions(program.command('measure')
    .description('axis error from frames with right-ascension rotation between them')
    .argument('<frames...>', 'two or more frames near the pole'))
    .action(async (files: string[], options: CommonOptions) => {
      const { measureFrames } = await import('./measureFrames.js');
      const { say, sayJson, warn } = await import('./output.js');
      const measured = await measureFrames(files, options);
      if (options.json) {
        const { measurementJson } = await import('./measurementJson.js');
        sayJson(measurementJson(measured));
        return;
      }
      const { measurementText } = await import('./measurementText.js');
      const { wrap } = await import('./numberWords.js');
      say(measurementText(measured), options.night ?? false);
      for (const { message } of measured.warnings) warn(wrap(`warning: ${message}`, 60, '  '), options.night ?? false);
    });
}
