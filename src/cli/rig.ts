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
        const { initRig } = await import('../tasks/rig/rigInit.js');
        const { RIG_FILE } = await import('../node/rigInForce.js');
        const file = options.init === true ? RIG_FILE : options.init;
        // The answer of --json is the rig alone; what is asked goes where warnings go.
        const rig = await initRig(file, options.overwrite ?? false, { input: process.stdin, output: options.json ? process.stderr : process.stdout });
        if (options.json) sayJson(rig);
        else say(`\nwritten to ${file}`, night);
        return;
      }
      const { rigInForce } = await import('../node/rigInForce.js');
      const found = rigInForce(options.rig, folder ?? null);
      const { rigJson, rigText } = await import('../tasks/rig/rigText.js');
      if (options.json) sayJson(rigJson(options, found));
      else say(rigText(options, found), night);
    });
}
