/** A thread that decodes one camera raw with LibRaw: see rawThread. */
import { parentPort, workerData } from 'node:worker_threads';
import { libRawPicture } from '../frames/libRawPicture.js';
import { loadLibRaw } from './loadLibRaw.js';
import type { RawThreadSays } from './rawThread.js';

const { bytes, mostPixels } = workerData as { bytes: Uint8Array; mostPixels: number };
const begun = performance.now();
const LibRaw = await loadLibRaw();
parentPort?.postMessage({ loadedAfterMs: performance.now() - begun } satisfies RawThreadSays);
const result = libRawPicture(LibRaw, bytes, mostPixels);
parentPort?.postMessage({ result } satisfies RawThreadSays, result.picture ? [result.picture.data.buffer as ArrayBuffer] : []);
