import type { Command } from 'commander';
import { addCommonOptions, type CommonOptions } from './commonOptions.js';
import { type SessionOptions, addSessionOptions } from './sessionOptions.js';

export interface WatchOptions extends CommonOptions, SessionOptions {
  readonly poll?: boolean;
  readonly all?: boolean;
  readonly followed?: boolean;
}

/** Adds `poleward watch`. */
export function addWatchCommand(program: Command): void {
  addSessionOptions(addCommonOptions(program.command('watch')
    .description('the same on each frame as it is saved: turn a knob, look again; Ctrl-C ends it')
    .argument('<folder>', 'where the camera saves its frames')
    .option('--poll', 'look every half second: for network shares that tell nothing')
    .option('--all', 'take the frames that are there already too')
    .option('--followed', 'each time a knob was turned, take the advice as followed and learn from it')))
    .action(async (folder: string, options: WatchOptions) => {
      const { watchFolder } = await import('./watchFolder.js');
      await watchFolder(folder, options);
    });
}
