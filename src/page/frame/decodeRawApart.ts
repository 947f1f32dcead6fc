import type { RawResult } from '../../frames/decoders.js';
import type { DecodeRaw } from './browserDecoders.js';

/** What the worker is given. */
export interface RawAsked {
  readonly wasm: Uint8Array;
  readonly bytes: Uint8Array;
  readonly mostPixels: number;
}

/** What it says: that LibRaw is loaded and how long that took, then the result. */
export type RawSays = { readonly loadedAfterMs: number; readonly result?: never } | { readonly result: RawResult };

/** As on the command line's thread: a file that takes so many times as long as loading LibRaw has caught it in a loop. */
const PATIENCE_LOADS = 6;
const LEAST_PATIENCE_MS = 1000;
const LOADING_PATIENCE_MS = 60_000;

/** LibRaw in a worker of its own for each file: a damaged one can be stopped, and its memory is freed. */
export function decodeRawApart(address: () => Promise<string>, wasm: () => Promise<Uint8Array>): DecodeRaw {
  return async (bytes, mostPixels) => {
    const [script, code] = [await address(), await wasm()];
    return new Promise((resolve) => {
      const worker = new Worker(script);
      const end = (result: RawResult): void => {
        clearTimeout(timer);
        worker.terminate();
        resolve(result);
      };
      const failed = (): void => end({ about: null, picture: null });
      let timer = setTimeout(failed, LOADING_PATIENCE_MS);
      worker.onmessage = ({ data: says }: MessageEvent<RawSays>) => {
        if (says.result) return end(says.result);
        clearTimeout(timer);
        timer = setTimeout(failed, Math.max(LEAST_PATIENCE_MS, PATIENCE_LOADS * says.loadedAfterMs) + bytes.length / 1000);
      };
      worker.onerror = failed;
      // A copy: the file's own bytes stay, and may be part of larger memory.
      const copy = bytes.slice();
      worker.postMessage({ wasm: code, bytes: copy, mostPixels } satisfies RawAsked, [copy.buffer]);
    });
  };
}
