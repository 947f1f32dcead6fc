/** A thread that reads frames and lists the stars in them (`starsOfFiles.ts`). */
import { parentPort, workerData } from 'node:worker_threads';
import { type StarOrders, takeFrames } from './starsOfFiles.js';
import type { StarWork } from './starThreads.js';

const port = parentPort!;
port.once('message', (orders: StarOrders) => { void takeFrames(workerData as StarWork, orders, (result) => port.postMessage(result)); });
