import { createGunzip, gunzipSync } from 'node:zlib';
import type { FrameDecoders } from '../frames/decoders.js';

/** Unpacked at a time. */
const PIECE_BYTES = 2 ** 20;

/** Node's zlib, sharp and LibRaw. What is heavy to load is loaded when a frame needs it: FITS frames don't. */
export const nodeDecoders: FrameDecoders = {
  gunzip: (packed, mostBytes) => gunzipSync(packed, { maxOutputLength: mostBytes }),
  async *gunzipPieces(packed) {
    const stream = createGunzip({ chunkSize: PIECE_BYTES });
    stream.end(packed);
    try {
      for await (const piece of stream as AsyncIterable<Uint8Array>) yield piece;
    } finally {
      stream.destroy();
    }
  },
  openPicture: async (bytes, kind) => (await import('./sharpPicture.js')).openSharpPicture(bytes, kind),
  decodeRaw: async (bytes, mostPixels) => (await import('./rawThread.js')).decodeRawOnThread(bytes, mostPixels),
};
