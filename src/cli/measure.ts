import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';
import { type SessionOptions, addSessionOptions } from './sessionOptions.js';

/** Adds `poleward measure`. What it needs is loaded when it runs. */
export function addMeasureCommand(program: Command): void {
  addSessionOptions(addCommonOptions(program.command('measure')
    .description('axis error from frames with right-ascension rotation between them')
    .argument('<frames...>', 'two or more frames near the pole')))
    .action(async (files: string[], options: CommonOptions & SessionOptions) => {
      const { measureFrames } = await import('./measureFrames.js');
      const { folderOf, recordRotation } = await import('./sessionUse.js');
      const { measurementJson } = await import('./measurementJson.js');
      const { say, sayJson, warn } = await import('./output.js');
      const { wrap } = await import('./numberWords.js');
      const night = options.night ?? false;
      const measured = await measureFrames(files, options);
      const record = measurementJson(measured);
      const said = await recordRotation(folderOf(files), options, measured, record);
      if (options.json) sayJson(record);
      else {
        const { measurementText } = await import('./measurementText.js');
        say(measurementText(measured), night);
        for (const { message } of measured.warnings) warn(wrap(`warning: ${message}`, 60, '  '), night);
      }
      if (said) warn(wrap(said, 60, '  '), night);
    });
}
