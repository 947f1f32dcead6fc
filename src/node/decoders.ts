import { createGunzip, gunzipSync } from 'node:zlib';
import type { FrameDecoders } from '../frames/decoders.js';
import { firstMember, firstMemberPieces } from './gzipMember.js';

/** Bytes unpacked at a time. */
const PIECE_BYTES = 2 ** 20;

/** Node's zlib, sharp and LibRaw. What takes long to load is loaded when a frame needs it: FITS frames don't. */
export const nodeDecoders: FrameDecoders = {
  gunzip: (packed, mostBytes) => {
    try {
      return gunzipSync(packed, { maxOutputLength: mostBytes });
    } catch {
      return firstMember(packed, mostBytes);
    }
  },
  async *gunzipPieces(packed) {
    const stream = createGunzip({ chunkSize: PIECE_BYTES });
    stream.end(packed);
    let done = 0;
    try {
      for await (const piece of stream as AsyncIterable<Uint8Array>) {
        done += piece.length;
        yield piece;
      }
    } catch {
      // What follows the packed file may be the cause.
      yield* firstMemberPieces(packed, done, PIECE_BYTES);
    } finally {
      stream.destroy();
    }
  },
  openPicture: async (bytes, kind) => (await import('./sharpPicture.js')).openSharpPicture(bytes, kind),
  decodeRaw: async (bytes, mostPixels) => (await import('./rawThread.js')).decodeRawOnThread(bytes, mostPixels),
};
