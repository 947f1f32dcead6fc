import { statSync } from 'node:fs';
import type { Worker } from 'node:worker_threads';
import { progress } from './progress.js';
import type { FrameResult } from './starsOfFrame.js';
import { starsOfFrame } from './starsOfFrame.js';
import { type StarThreads, type StarWork, startThreads } from './starThreads.js';

/** A frame's result and its place in the list. */
export interface StarResult {
  readonly index: number;
  readonly result: FrameResult;
}

/** What a helping thread is told to begin with. */
export interface StarOrders {
  readonly utcOffsetMinutes: number | undefined;
}

/** Stars being looked for. */
export interface StarsComing {
  /**
   * Waits for all; the results in the order of the files. `arrived` is called for each frame, in that order, as soon as it and those
   * before it are done, the first time when this thread has no frame left to do.
   */
  each(arrived: (result: FrameResult) => void): Promise<FrameResult[]>;
}

/** Begins to look for the stars of many frames. `threads` were started beforehand for the same files; else as many as pay start now. */
export function starsComing(
  files: readonly string[], utcOffsetMinutes: number | undefined, threads: StarThreads = startThreads(files),
): StarsComing {
  const results = new Array<FrameResult>(files.length);
  let listener: ((result: FrameResult) => void) | null = null;
  let free = false;
  let told = 0;
  const tell = (): void => {
    for (let result = results[told]; listener && free && result; result = results[told]) {
      told++;
      listener(result);
    }
  };
  const orders: StarOrders = { utcOffsetMinutes };
  const helpers = threads.helpers.map((worker) => collect(worker, orders, ({ index, result }) => {
    results[index] = result;
    tell();
  }));
  // This thread leaves each helper a frame, and goes on to what comes after the stars.
  const own = takeFrames(threads.work, orders, ({ index, result }) => { results[index] = result; }, { first: 0, leave: helpers.length });
  const all = Promise.all([own.then(() => { free = true; tell(); }), ...helpers]);
  // Heard by each(); until that is called a failure must not end the process.
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
export function starsOfFrames(files: readonly string[], utcOffsetMinutes: number | undefined): Promise<FrameResult[]> {
  let done = 0;
  return starsComing(files, utcOffsetMinutes).each(() => { progress('frames read', ++done, files.length); });
}

/** Takes frames until `leave` or none are left, reading one after the other into the same memory, since fresh memory is slow to get. */
export async function takeFrames(
  { files, next }: StarWork, { utcOffsetMinutes }: StarOrders, done: (result: StarResult) => void,
  { first, leave = 0 }: { readonly first?: number; readonly leave?: number } = {},
): Promise<void> {
  const counter = new Int32Array(next);
  let memory: Buffer | undefined;
  for (let turn = 0; ; turn++) {
    const leads = turn === 0 && first !== undefined;
    if (!leads && leave > 0 && Atomics.load(counter, 0) + leave >= files.length) return;
    const index = leads ? first : Atomics.add(counter, 0, 1);
    const file = files[index];
    if (file === undefined) return;
    const size = statSync(file, { throwIfNoEntry: false })?.size ?? 0;
    if (size > (memory?.length ?? 0) && size < 2 ** 30) memory = Buffer.allocUnsafeSlow(size);
    const result = await starsOfFrame(file, {
      ...(utcOffsetMinutes === undefined ? {} : { utcOffsetMinutes }),
      ...(memory ? { memory } : {}),
    });
    done({ index, result });
  }
}

/** Gives a thread its orders and takes in its results until it ends. */
function collect(worker: Worker, orders: StarOrders, take: (result: StarResult) => void): Promise<void> {
  return new Promise((resolve, reject) => {
    worker.ref();
    worker.on('message', take);
    worker.on('error', reject);
    worker.on('exit', () => resolve());
    worker.postMessage(orders);
  });
}
