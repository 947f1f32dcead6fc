import { statSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';

/** Files smaller than this together are done before another thread would have started. */
const WORTH_A_THREAD_BYTES = 16e6;
const MOST_THREADS = 4;
/**
 * Where processors are few, each thread that joins costs more (it compiles the same code and takes memory of its own)
 * than it saves with fewer frames than this.
 */
const FRAMES_WORTH_A_THREAD = 4;

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
 * Starts as many threads as pay for these files, none where this one is as quick. This thread is left free to recognise what they find.
 * They don't keep the process alive until they are given work.
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

/** Threads for so many large frames on so many processors. */
export function threadsFor(frames: number, processors: number): number {
  const free = processors < 4 ? Math.min(processors, Math.ceil(frames / FRAMES_WORTH_A_THREAD)) : processors - 1;
  return Math.min(frames, free, MOST_THREADS);
}
