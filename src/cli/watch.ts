import { type Command, InvalidArgumentError } from 'commander';
import { addCommonOptions } from './commonOptions.js';
import { addSessionOptions } from './sessionOptions.js';
import { fileTimesOption } from './timeOptions.js';
import type { WatchOptions } from './watchOptions.js';

/** Adds `poleward watch`. */
export function addWatchCommand(program: Command): void {
  addSessionOptions(addCommonOptions(program.command('watch')
    .description('the same on each frame as it is saved: turn a knob, look again; Ctrl-C ends it')
    .argument('<folder>', 'where the camera saves its frames')
    .option('--poll', 'look every half second: for network shares that tell nothing')
    .option('--all', 'take the frames that are there already too')
    .addOption(fileTimesOption())
    .option('--followed', 'each time a knob was turned, take the advice as followed and learn from it')
    .option('--panel', 'serve a page with dials and large numbers to this computer\'s browser')
    .option('--panel-open', 'to the phones on the network too, by an address with a secret key')
    .option('--panel-port <number>', 'where the panel is, else the next free one above', portNumber)
))
    .action(async (folder: string, options: WatchOptions) => {
      const { watchFolder } = await import('./watchFolder.js');
      await watchFolder(folder, options);
    });
}

function portNumber(text: string): number {
  const port = Number(text);
  if (!/^\d+$/.test(text) || port > 65535) throw new InvalidArgumentError(`"${text}" is no port. Write a whole number up to 65535; 0 `
    + `takes any that is free.`);
  return port;
}
