import { Worker } from 'node:worker_threads';
import type { RawResult } from '../frames/decoders.js';

/** What the thread says: that LibRaw is loaded and how long that took, then what came of the file. */
export type RawThreadSays = { readonly loadedAfterMs: number; readonly result?: never } | { readonly result: RawResult };

/**
 * A file that keeps LibRaw longer than so many times what loading LibRaw took just before (a measure of the machine and of what else it
 * does), and a second for each megabyte, has sent it round in circles.
 */
const PATIENCE_LOADS = 6;
const LEAST_PATIENCE_MS = 1000;
/** Before that nothing depends on the file. */
const LOADING_PATIENCE_MS = 60_000;

/** LibRaw on a thread of its own: what it does with a damaged file can then be ended. */
export function decodeRawOnThread(bytes: Uint8Array, mostPixels: number): Promise<RawResult> {
  return new Promise((resolve) => {
    // A copy of these bytes only: they may be part of memory that is used again.
    const copy = new Uint8Array(bytes);
    const worker = new Worker(new URL('./rawWorker.js', import.meta.url), {
      workerData: { bytes: copy, mostPixels }, transferList: [copy.buffer], stdout: true, stderr: true,
      // Node's own, such as --input-type, may not go with a file.
      execArgv: [],
    });
    const end = (result: RawResult): void => {
      clearTimeout(timer);
      resolve(result);
      void worker.terminate();
    };
    const failed = (): void => end({ about: null, picture: null });
    let timer = setTimeout(failed, LOADING_PATIENCE_MS);
    worker.on('message', (says: RawThreadSays) => {
      if (says.result) return end(says.result);
      clearTimeout(timer);
      timer = setTimeout(failed, Math.max(LEAST_PATIENCE_MS, PATIENCE_LOADS * says.loadedAfterMs) + bytes.length / 1000);
    }).on('error', failed).on('exit', failed);
  });
}
