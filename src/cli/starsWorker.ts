/** A thread that reads frames and lists their stars: see starsOfFrames. */
import { parentPort, workerData } from 'node:worker_threads';
import { type StarWork, takeFrames } from './starsOfFrames.js';

await takeFrames(workerData as StarWork, (result) => parentPort?.postMessage(result));
