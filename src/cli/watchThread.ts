/** The thread of a watch: reads, recognises, answers and records, and sends what is to be shown. See watchFolder. */
import { once } from 'node:events';
import { parentPort, workerData } from 'node:worker_threads';
import { PolewardError } from '../error.js';
import type { WatchOrders, WatchSays, WatchTold } from './watchFront.js';
import { Watching } from './watching.js';

const port = parentPort!;

async function watch(): Promise<void> {
  const { folder, options, width } = workerData as WatchOrders;
  const front = (says: WatchSays): void => port.postMessage(says);
  try {
    const watching = new Watching(folder, options, width, front);
    port.on('message', (told: WatchTold) => { if (told === 'stop') watching.stop(); });
    watching.begin();
    await once(port, 'message');
    await watching.run();
  } catch (error) {
    if (!(error instanceof PolewardError)) throw error;
    front({ kind: 'failed', code: error.code, message: error.message, data: { remedies: error.remedies } });
  }
  port.close();
}

void watch();
