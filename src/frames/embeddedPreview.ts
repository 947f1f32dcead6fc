import { indexOfBytes } from './bytes.js';
import type { FrameDecoders, OpenPicture } from './decoders.js';

/** A JPEG picture inside another file. */
export interface Preview {
  /** From its first byte to the end of the file around it. */
  readonly jpeg: Uint8Array;
  readonly about: OpenPicture;
}

/** Where a JPEG file begins (ITU-T T.81: start of image, and the first byte of the next marker). */
const START = Uint8Array.of(0xff, 0xd8, 0xff);
/** Compressed data contain the three bytes by chance now and then. */
const MOST_TRIED = 200;

/** The largest JPEG picture inside another file; null where there is none. */
export async function embeddedPreview(bytes: Uint8Array, openPicture: FrameDecoders['openPicture']): Promise<Preview | null> {
  let best: Preview | null = null;
  let at = indexOfBytes(bytes, START);
  for (let tried = 0; at >= 0 && tried < MOST_TRIED; tried++, at = indexOfBytes(bytes, START, at + 1)) {
    const jpeg = bytes.subarray(at);
    const about = await opened(jpeg, openPicture);
    // The mosaic itself may be a (lossless) JPEG, which no picture decoder opens: then nothing is found.
    if (about && about.width * about.height > (best ? best.about.width * best.about.height : 0)) best = { jpeg, about };
  }
  return best;
}

async function opened(jpeg: Uint8Array, openPicture: FrameDecoders['openPicture']): Promise<OpenPicture | null> {
  try {
    return await openPicture(jpeg, 'jpeg');
  } catch {
    return null;
  }
}
