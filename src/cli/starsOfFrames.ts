import { statSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { FrameResult } from './starsOfFrame.js';
import { starsOfFrame } from './starsOfFrame.js';

/** Files smaller than this together are done before a second thread would have started. */
const WORTH_A_THREAD_BYTES = 16e6;
const MOST_THREADS = 4;

/** Work handed to a thread. `next` counts frames taken, shared by all threads. */
export interface StarWork {
  readonly files: readonly string[];
  readonly utcOffsetMinutes: number | undefined;
  readonly next: SharedArrayBuffer;
}

/** A frame's result and its place in the list. */
export interface StarResult {
  readonly index: number;
  readonly result: FrameResult;
}

/**
 * The stars of many frames, in the order given, on as many threads as pay.
 *
 * @param meanwhile called once with the first frame this thread has done, while others are still at work
 */
export async function starsOfFrames(
  files: readonly string[], utcOffsetMinutes: number | undefined, meanwhile: (first: FrameResult) => void = () => {},
): Promise<FrameResult[]> {
  const results = new Array<FrameResult>(files.length);
  const work: StarWork = { files, utcOffsetMinutes, next: new SharedArrayBuffer(4) };
  const bytes = files.reduce((sum, file) => sum + (statSync(file, { throwIfNoEntry: false })?.size ?? 0), 0);
  const threads = bytes < WORTH_A_THREAD_BYTES ? 1 : Math.min(files.length, availableParallelism(), MOST_THREADS);
  const helpers = Array.from({ length: threads - 1 }, () => runHelper(work, results));
  let first: FrameResult | null = null;
  // This thread leaves each helper a frame, and goes on to what comes after the stars.
  await takeFrames(work, ({ index, result }) => {
    results[index] = result;
    first ??= result;
  }, helpers.length);
  if (first && helpers.length > 0) meanwhile(first);
  await Promise.all(helpers);
  return results;
}

/** Takes frames until `leave` or none are left, reading one after the other into the same memory, since fresh memory is slow to get. */
export async function takeFrames(work: StarWork, done: (result: StarResult) => void, leave = 0): Promise<void> {
  const next = new Int32Array(work.next);
  let memory: Buffer | undefined;
  for (;;) {
    if (leave > 0 && Atomics.load(next, 0) + leave >= work.files.length) return;
    const index = Atomics.add(next, 0, 1);
    const file = work.files[index];
    if (file === undefined) return;
    const size = statSync(file, { throwIfNoEntry: false })?.size ?? 0;
    if (size > (memory?.length ?? 0) && size < 2 ** 30) memory = Buffer.allocUnsafeSlow(size);
    const result = await starsOfFrame(file, {
      ...(work.utcOffsetMinutes === undefined ? {} : { utcOffsetMinutes: work.utcOffsetMinutes }),
      ...(memory ? { memory } : {}),
    });
    done({ index, result });
  }
}

function runHelper(work: StarWork, results: FrameResult[]): Promise<void> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL('./starsWorker.js', import.meta.url), { workerData: work });
    worker.on('message', ({ index, result }: StarResult) => { results[index] = result; });
    worker.on('error', reject);
    worker.on('exit', () => resolve());
  });
}
