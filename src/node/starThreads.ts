import { statSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';

/** Files smaller than this together are done before another thread would have started. */
const WORTH_A_THREAD_BYTES = 16e6;
const MOST_THREADS = 4;
/**
 * With few processors each further thread costs more (it compiles the same code and takes memory of its own) than it saves, with fewer
 * frames than this.
 */
const FRAMES_WORTH_A_THREAD = 4;

/** Work shared by threads: `next` counts the frames taken. */
export interface StarWork {
  readonly files: readonly string[];
  readonly next: SharedArrayBuffer;
}

/** Threads beside this one, and their work. They load what they need at once, and begin on a message. */
export interface StarThreads {
  readonly work: StarWork;
  readonly helpers: readonly Worker[];
}

/**
 * Starts as many threads as are worthwhile for these files; none where this one is as fast. This thread is kept free to recognise the
 * frames. They don't keep the process alive until they are given work.
 */
export function startThreads(files: readonly string[]): StarThreads {
  const bytes = files.reduce((sum, file) => sum + (statSync(file, { throwIfNoEntry: false })?.size ?? 0), 0);
  const work: StarWork = { files, next: new SharedArrayBuffer(4) };
  const helpers = Array.from({ length: bytes < WORTH_A_THREAD_BYTES ? 0 : threadsFor(files.length, availableParallelism()) }, () => {
    const worker = new Worker(new URL('./starsWorker.js', import.meta.url), { workerData: work });
    worker.unref();
    return worker;
  });
  return { work, helpers };
}

/** Number of threads for large frames, by the number of processors. */
export function threadsFor(frames: number, processors: number): number {
  const free = processors < 4 ? Math.min(processors, Math.ceil(frames / FRAMES_WORTH_A_THREAD)) : processors - 1;
  return Math.min(frames, free, MOST_THREADS);
}
