import type { Worker } from 'node:worker_threads';
import type { DecodeFrameOptions } from '../frames/decodeFrame.js';
import type { FrameResult, Progress, StarsComing } from '../tasks/recognise/frameStars.js';
import { frameMemory } from './frameMemory.js';
import { starsOfFile } from './starsOfFile.js';
import { type StarThreads, type StarWork, startThreads } from './starThreads.js';

/** A frame's result and its place in the list. */
export interface StarResult {
  readonly index: number;
  readonly result: FrameResult;
}

/** The first message to a helping thread. */
export interface StarOrders {
  readonly clock: DecodeFrameOptions;
}

/**
 * Begins to look for the stars of many frames. `threads` were started beforehand for the same files; else as many as are worthwhile start
 * now.
 */
export function starsComing(
  files: readonly string[], clock: DecodeFrameOptions, threads: StarThreads = startThreads(files),
): StarsComing {
  const results = new Array<FrameResult>(files.length);
  let listener: ((result: FrameResult) => void) | null = null;
  let told = 0;
  const take = ({ index, result }: StarResult): void => {
    results[index] = result;
    tell();
  };
  const tell = (): void => {
    for (let next = results[told]; listener && next; next = results[told]) {
      told++;
      listener(next);
    }
  };
  const orders: StarOrders = { clock };
  const all = threads.helpers.length === 0
    ? takeFrames(threads.work, orders, take)
    : Promise.all(threads.helpers.map((worker) => collect(worker, orders, take)));
  // each() handles it; until that is called a failure must not end the process.
  all.catch(() => {});
  return {
    async each(arrived) {
      listener = arrived;
      tell();
      await all;
      return results;
    },
  };
}

/** The stars of many frames, in the order given. */
export function starsOfFiles(files: readonly string[], clock: DecodeFrameOptions, progress: Progress): Promise<FrameResult[]> {
  let done = 0;
  return starsComing(files, clock).each(() => { progress('frames read', ++done, files.length); });
}

/** Takes frames until none are left, reading one after the other into the same memory. */
export async function takeFrames(
  { files, next }: StarWork, { clock }: StarOrders, done: (result: StarResult) => void,
): Promise<void> {
  const counter = new Int32Array(next);
  let memory: Buffer | undefined;
  for (;;) {
    const index = Atomics.add(counter, 0, 1);
    const file = files[index];
    if (file === undefined) return;
    memory = frameMemory(file, memory);
    const result = await starsOfFile(file, { ...clock, ...(memory ? { memory } : {}) });
    done({ index, result });
  }
}

/** Sends a thread its work and receives its results until it ends. */
function collect(worker: Worker, orders: StarOrders, take: (result: StarResult) => void): Promise<void> {
  return new Promise((resolve, reject) => {
    worker.ref();
    worker.on('message', take);
    worker.on('error', reject);
    worker.on('exit', () => resolve());
    worker.postMessage(orders);
  });
}
