import { Worker } from 'node:worker_threads';
import type { RawResult } from '../frames/decoders.js';

/** The thread's messages: that LibRaw is loaded and how long that took, then the result for the file. */
export type RawThreadSays = { readonly loadedAfterMs: number; readonly result?: never } | { readonly result: RawResult };

/**
 * A file that takes LibRaw longer than this many times the loading of LibRaw just before (a measure of the machine's speed), plus a second
 * for each megabyte, has put it into an endless loop.
 */
const PATIENCE_LOADS = 6;
const LEAST_PATIENCE_MS = 1000;
/** The most time that loading LibRaw itself may take, ms. */
const LOADING_PATIENCE_MS = 60_000;

/** LibRaw on a thread of its own: so that it can be stopped in a damaged file. */
export function decodeRawOnThread(bytes: Uint8Array, mostPixels: number): Promise<RawResult> {
  return new Promise((resolve) => {
    // A copy of these bytes only: they may be part of memory that is used again.
    const copy = new Uint8Array(bytes);
    const worker = new Worker(new URL('./rawWorker.js', import.meta.url), {
      workerData: { bytes: copy, mostPixels }, transferList: [copy.buffer], stdout: true, stderr: true,
      // Node's own options, such as --input-type, are not allowed with a file.
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
