import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';

interface RigOptions extends CommonOptions {
  readonly rig?: string;
  readonly init?: string | true;
  readonly overwrite?: boolean;
  readonly schema?: boolean;
}

/** Adds `poleward rig`. What it needs is loaded when it runs. */
export function addRigCommand(program: Command): void {
  const command = addCommonOptions(program.command('rig')
    .description('shows, checks or makes the rig file: site, clock, camera, knobs')
    .argument('[folder]', 'of the frames, where the search begins (default: the current folder)'));
  if (!command.options.some((o) => o.long === '--rig')) command.option('--rig <file>', 'this rig file and no other');
  command
    .option('--init [file]', 'asks for all of it and writes the file (default: poleward.json)')
    .option('--overwrite', 'lets --init replace a file')
    .option('--schema', 'prints the JSON schema of the rig file')
    .action(async (folder: string | undefined, options: RigOptions) => {
      const { say, sayJson } = await import('./output.js');
      const night = options.night ?? false;
      if (options.schema) {
        const { RIG_SCHEMA } = await import('../knobs/rigSchema.js');
        sayJson(RIG_SCHEMA);
        return;
      }
      if (options.init !== undefined) {
        const { initRig } = await import('./rigInit.js');
        const { RIG_FILE } = await import('../node/rigFile.js');
        const file = options.init === true ? RIG_FILE : options.init;
        // With --json the answer on stdout is the rig alone, so the questions go to stderr.
        const rig = await initRig(
          file, options.overwrite ?? false, { input: process.stdin, output: options.json ? process.stderr : process.stdout },
        );
        if (options.json) sayJson(rig);
        else say(`\nwritten to ${file}`, night);
        return;
      }
      const { rigFileOf, saidOf } = await import('./given.js');
      const { givenValues } = await import('../tasks/given/given.js');
      const { rigJson, rigText } = await import('../tasks/rig/rigText.js');
      const found = rigFileOf(options, folder ?? null);
      const values = givenValues(saidOf(options), found);
      if (options.json) {
        sayJson(rigJson(values, found));
        return;
      }
      const { RIG_FILE, surroundings, userConfigurationFolder } = await import('../node/rigFile.js');
      const { remedyWords } = await import('./remedyWords.js');
      const searched = `none named ${RIG_FILE} here or in the folders above, none in ${userConfigurationFolder(surroundings())}`;
      say(rigText(values, found, searched, remedyWords), night);
    });
}
