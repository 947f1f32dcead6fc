import type { DecodeRaw } from '../frame/browserDecoders.js';
import { decodeRawApart } from '../frame/decodeRawApart.js';
import type { Assets } from './assets.js';

/** Camera raw by LibRaw, which is loaded when a frame needs it. */
export function rawDecoder({ bytes, address }: Assets): DecodeRaw {
  let wasm: Promise<Uint8Array> | null = null;
  return decodeRawApart(() => address('raw'), () => {
    wasm ??= bytes('libraw');
    wasm.catch(() => { wasm = null; });
    return wasm;
  });
}
