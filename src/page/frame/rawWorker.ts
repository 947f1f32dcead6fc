/** A worker that decodes one camera raw with LibRaw: see decodeRawApart. */
import make from 'libraw-wasm/dist/libraw.js';
import { libRawPicture } from '../../frames/libRawPicture.js';
import type { RawAsked, RawSays } from './decodeRawApart.js';

/** What of a worker's own world is used; the types at hand are those of a page. */
interface WorkerWorld {
  postMessage(says: RawSays, moved?: readonly ArrayBufferLike[]): void;
  onmessage: ((event: MessageEvent<RawAsked>) => void) | null;
}
const world = self as unknown as WorkerWorld;

world.onmessage = ({ data: { wasm, bytes, mostPixels } }) => {
  const begun = performance.now();
  void make({ wasmBinary: wasm, print: () => {}, printErr: () => {} }).then(({ LibRaw }) => {
    world.postMessage({ loadedAfterMs: performance.now() - begun });
    const result = libRawPicture(LibRaw, bytes, mostPixels);
    world.postMessage({ result }, result.picture ? [result.picture.data.buffer] : []);
  }).catch(() => world.postMessage({ result: { about: null, picture: null } }));
};
