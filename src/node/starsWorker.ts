/** A thread that reads frames and lists their stars: see starsOfFiles. */
import { once } from 'node:events';
import { parentPort, workerData } from 'node:worker_threads';
import { type StarOrders, takeFrames } from './starsOfFiles.js';
import type { StarWork } from './starThreads.js';

const port = parentPort!;
const [orders] = await once(port, 'message') as [StarOrders];
await takeFrames(workerData as StarWork, orders, (result) => port.postMessage(result));
