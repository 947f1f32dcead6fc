import type { FrameDecoders, OpenPicture, RawResult } from '../../frames/decoders.js';
import type { RasterKind } from '../../frames/fileKind.js';
import { avifHeader } from './avifHeader.js';
import { browserPicture } from './browserPicture.js';
import { gunzipAll, gunzipSteps } from './gunzip.js';
import { jpegHeader } from './jpegHeader.js';
import { pngPicture } from './pngPicture.js';
import { tiffPicture } from './tiffPicture.js';
import { webpHeader } from './webpHeader.js';

/** Decodes a camera raw. */
export type DecodeRaw = (bytes: Uint8Array, mostPixels: number) => Promise<RawResult>;

/** What the reading of frames needs, from a browser. */
export function browserDecoders(decodeRaw: DecodeRaw): FrameDecoders {
  return {
    gunzip: gunzipAll,
    mayKnowHeic: true,
    async *gunzipPieces(packed) {
      yield* gunzipSteps(packed);
    },
    openPicture: async (bytes, kind) => opened(bytes, kind),
    decodeRaw,
  };
}

function opened(bytes: Uint8Array, kind: RasterKind): OpenPicture {
  switch (kind) {
    case 'png': return pngPicture(bytes);
    case 'tiff': return tiffPicture(bytes);
    case 'jpeg': return browserPicture(jpegHeader(bytes), 'image/jpeg');
    case 'webp': return browserPicture(webpHeader(bytes), 'image/webp');
    case 'avif': return browserPicture(avifHeader(bytes), 'image/avif');
    case 'heic': return browserPicture(avifHeader(bytes), 'image/heic');
  }
}
