import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';
import { type SessionOptions, addSessionOptions } from './sessionOptions.js';

/** Adds `poleward recheck`. */
export function addRecheckCommand(program: Command): void {
  addSessionOptions(addCommonOptions(program.command('recheck')
    .description('what is left after a knob was turned, from one frame; the mount not slewed since the last measurement')
    .argument('<frames...>', 'one new frame (two or more with rotation are a new measurement)')))
    .action(async (files: string[], options: CommonOptions & SessionOptions) => {
      const { recheckFrames } = await import('./recheckFrames.js');
      const { folderOf, openForRecheck, recordRecheck, recordRotation } = await import('./sessionUse.js');
      const { measurementJson } = await import('./measurementJson.js');
      const { say, sayJson, warn } = await import('./output.js');
      const { wrap } = await import('./numberWords.js');
      const night = options.night ?? false;
      const folder = folderOf(files);
      const open = openForRecheck(folder, options);
      const measured = await recheckFrames(files, options, open.base.entry.state, open.session.start.site);
      const record = measurementJson(measured);
      let said = open.place.said;
      if (measured.how === 'recheck') await recordRecheck(open, measured, record, []);
      else said = await recordRotation(folder, { ...options, session: open.place.path }, measured, record);
      if (options.json) {
        sayJson(record);
        return;
      }
      const { measurementText } = await import('./measurementText.js');
      say(measurementText(measured), night);
      if (said) warn(wrap(said, 60, '  '), night);
      for (const { message } of measured.warnings) warn(wrap(`warning: ${message}`, 60, '  '), night);
    });
}
