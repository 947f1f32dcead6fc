import { type Command, InvalidArgumentError } from 'commander';
import { addCommonOptions } from './commonOptions.js';
import { addSessionOptions } from './sessionOptions.js';
import { fileTimesOption } from './timeOptions.js';
import type { WatchOptions } from './watchOptions.js';

/** Adds `poleward watch`. */
export function addWatchCommand(program: Command): void {
  addSessionOptions(addCommonOptions(program.command('watch')
    .description('answers each frame as it is saved: turn a knob, look again; Ctrl-C ends it')
    .argument('<folder>', 'where the camera saves its frames')
    .option('--poll', 'check every half second: for network shares that report no changes')
    .option('--all', 'also take the frames that are there already')
    .addOption(fileTimesOption())
    .option('--followed', 'whenever a knob was turned, assume that the advice was followed, and learn from it')
    .option('--panel', 'show dials and large numbers in this computer\'s browser')
    .option('--panel-open', 'show them on the phones of the network too, at an address with a secret key')
    .option('--panel-port <number>', 'port of the panel, else the next free one above', portNumber)
))
    .action(async (folder: string, options: WatchOptions) => {
      const { watchFolder } = await import('./watchFolder.js');
      await watchFolder(folder, options);
    });
}

function portNumber(text: string): number {
  const port = Number(text);
  if (!/^\d+$/.test(text) || port > 65535) throw new InvalidArgumentError(`"${text}" is not a port. Write a whole number up to 65535; 0 `
    + `takes any that is free.`);
  return port;
}
