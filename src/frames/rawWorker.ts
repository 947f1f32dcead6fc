/** A thread that decodes one camera raw with LibRaw: see decodeRaw. */
import { parentPort, workerData } from 'node:worker_threads';
import { libRawPicture, loadLibRaw } from './libRawPicture.js';

const { bytes, mostPixels } = workerData as { bytes: Uint8Array; mostPixels: number };
const result = libRawPicture(await loadLibRaw(), bytes, mostPixels);
parentPort?.postMessage(result, result.picture ? [result.picture.data.buffer as ArrayBuffer] : []);
