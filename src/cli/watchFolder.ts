import { statSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import { PolewardError } from '../error.js';
import type { Panel } from '../panel/startPanel.js';
import type { PanelView } from '../panel/panelView.js';
import { say, sayLine, textWidth, warn } from './output.js';
import type { WatchOrders, WatchSays, WatchTold } from './watchFront.js';
import type { WatchOptions } from './watchOptions.js';

/** Work that goes on for this long after Ctrl-C is ended by force, ms. */
const GRACE_MS = 500;

/**
 * Runs until Ctrl-C: answers each new frame in a folder. All work is done on a thread of its own, so that this thread can serve the panel
 * and Ctrl-C at any moment.
 */
export async function watchFolder(folder: string, options: WatchOptions): Promise<void> {
  if (!statSync(folder, { throwIfNoEntry: false })?.isDirectory()) {
    throw new PolewardError('file-unreadable', `There is no folder ${folder}. Name the one the camera saves its frames to.`);
  }
  const orders: WatchOrders = { folder, options, width: textWidth() };
  // Node's own options, such as --input-type, may not go with a file.
  const thread = new Worker(new URL('./watchThread.js', import.meta.url), { workerData: orders, execArgv: [] });
  const tell = (told: WatchTold): void => thread.postMessage(told);
  const night = options.night ?? false;
  let panel: Panel | null = null;
  let farewell = '';
  let stopping = false;
  const stop = (): void => {
    stopping = true;
    tell('stop');
    setTimeout(() => { void thread.terminate(); }, GRACE_MS).unref();
  };
  process.once('SIGINT', stop).once('SIGTERM', stop);
  if (process.platform === 'win32') process.once('SIGBREAK', stop).once('SIGHUP', stop);
  try {
    await new Promise<void>((resolve, reject) => {
      const begin = async (view: PanelView): Promise<void> => {
        panel = await panelFor(options);
        panel?.show(view);
        tell('go');
      };
      thread.on('message', (says: WatchSays) => {
        switch (says.kind) {
          case 'begun': begin(says.view).catch(reject); break;
          case 'say': say(says.text, night); break;
          case 'warn': warn(says.text, night); break;
          case 'line': sayLine(says.value); break;
          case 'view': panel?.show(says.view); break;
          case 'farewell': farewell = says.text; break;
          case 'failed': reject(new PolewardError(says.code, says.message, says.data));
        }
      });
      thread.on('error', reject).on('exit', () => {
        if (stopping) resolve();
        else reject(new Error('the watch ended by itself'));
      });
    });
  } finally {
    void thread.terminate();
    await (panel as Panel | null)?.stop();
  }
  if (!options.json && farewell !== '') say(farewell, night);
}

/** Serves the panel if it was asked for. */
async function panelFor(options: WatchOptions): Promise<Panel | null> {
  if (!options.panel && !options.panelOpen) return null;
  const { startWatchPanel } = await import('./watchPanel.js');
  return startWatchPanel(options);
}
