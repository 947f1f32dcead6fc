import { statSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';

/** Files smaller than this together are done before a second thread would have started. */
const WORTH_A_THREAD_BYTES = 16e6;
const MOST_THREADS = 4;

/** Work shared by threads: `next` counts the frames taken. */
export interface StarWork {
  readonly files: readonly string[];
  readonly next: SharedArrayBuffer;
}

/** Threads beside this one, and their work. They load what they need at once, and begin when told. */
export interface StarThreads {
  readonly work: StarWork;
  readonly helpers: readonly Worker[];
}

/**
 * Starts as many threads as pay for these files. They don't keep the process alive until they are given work.
 * The first frame is left for this thread, so that the same frame always leads.
 */
export function startThreads(files: readonly string[]): StarThreads {
  const bytes = files.reduce((sum, file) => sum + (statSync(file, { throwIfNoEntry: false })?.size ?? 0), 0);
  const threads = bytes < WORTH_A_THREAD_BYTES ? 1 : Math.min(files.length, availableParallelism(), MOST_THREADS);
  const work: StarWork = { files, next: new SharedArrayBuffer(4) };
  new Int32Array(work.next)[0] = 1;
  const helpers = Array.from({ length: threads - 1 }, () => {
    const worker = new Worker(new URL('./starsWorker.js', import.meta.url), { workerData: work });
    worker.unref();
    return worker;
  });
  return { work, helpers };
}
