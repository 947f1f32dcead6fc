import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import make from 'libraw-wasm/dist/libraw.js';
import type { LibRawClass } from '../frames/libRawPicture.js';

/** LibRaw with memory of its own. */
export async function loadLibRaw(): Promise<LibRawClass> {
  const wasmBinary = readFileSync(createRequire(import.meta.url).resolve('libraw-wasm/dist/libraw.wasm'));
  const { LibRaw } = await make({ wasmBinary, print: () => {}, printErr: () => {} });
  return LibRaw;
}
