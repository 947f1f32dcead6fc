import { homedir, networkInterfaces } from 'node:os';
import { join } from 'node:path';
import { stateFolder } from '../node/stateFolder.js';
import { reachableAddresses } from '../panel/addresses.js';
import { readPage } from '../panel/pageFiles.js';
import { keyOfNight } from '../panel/panelKey.js';
import { type Panel, startPanel } from '../panel/startPanel.js';
import { wrap } from '../tasks/words/numberWords.js';
import { say, sayLine } from './output.js';
import type { WatchOptions } from './watchOptions.js';

const NO_NETWORK = 'This computer is on no network, so no phone can reach the panel: join the phone\'s hotspot, then start the watch '
  + 'again. On this computer:';

/** The first port that is tried: not one of the well-known ones. */
const PORT = 8470;

/** Starts the panel that the options ask for and says where it is. */
export async function startWatchPanel(options: WatchOptions): Promise<Panel> {
  const wished = options.panelPort ?? PORT;
  const state = (): string => stateFolder({ platform: process.platform, env: process.env, home: homedir() });
  const key = options.panelOpen ? keyOfNight(join(state(), 'panel-key.json'), Date.now()) : null;
  const panel = await startPanel({ page: readPage(), port: wished, key });
  await sayWhere(panel.port, wished, key, options);
  return panel;
}

/** Where the panel is; for the network with a QR code for the phone. */
async function sayWhere(port: number, wished: number, key: string | null, { json, night }: WatchOptions): Promise<void> {
  const others = key === null ? [] : reachableAddresses(networkInterfaces());
  const hosts = [...others, '127.0.0.1'];
  const urls = hosts.map((host) => `http://${host}:${port}/${key === null ? '' : `${key}/`}`);
  if (json) {
    sayLine({ schema: 'poleward/watch-1', message: 'panel', addresses: urls });
    return;
  }
  if (wished !== 0 && port !== wished) say(wrap(`Port ${wished} is in use; the panel took ${port}.`), night ?? false);
  if (key === null) {
    say(`Panel, on this computer alone: ${urls[0]!}`, night ?? false);
    return;
  }
  const here = urls.at(-1)!;
  if (others.length === 0) {
    say(
      `${wrap(NO_NETWORK)}\n${here}`,
      night ?? false,
    );
    return;
  }
  const { qrText } = await import('../panel/qrText.js');
  say(qrText(urls[0]!), night ?? false);
  say(['Panel, for all on this network who have the address:', ...urls.slice(0, -1), 'on this computer '
    + 'itself:', here].join('\n'), night ?? false);
}
