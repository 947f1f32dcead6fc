import type { Sharp } from 'sharp';

/** Where a JPEG file begins (ITU-T T.81: start of image, and the first byte of the next marker). */
const START = Buffer.of(0xff, 0xd8, 0xff);
/** Compressed data hold the three bytes by chance now and then. */
const MOST_TRIED = 200;

/** The largest JPEG picture inside another file: its bytes from there to the file's end, and its size. Null where there is none. */
export async function embeddedPreview(bytes: Buffer): Promise<{ jpeg: Buffer; width: number; height: number } | null> {
  const { default: sharp } = await import('sharp');
  let best: { jpeg: Buffer; width: number; height: number } | null = null;
  let at = bytes.indexOf(START);
  for (let tried = 0; at >= 0 && tried < MOST_TRIED; tried++, at = bytes.indexOf(START, at + 1)) {
    const jpeg = bytes.subarray(at);
    const size = await sizeOf(sharp(jpeg, { limitInputPixels: false }));
    // The mosaic itself may be a (lossless) JPEG, which sharp does not read: it has no size then.
    if (size && size.width * size.height > (best?.width ?? 0) * (best?.height ?? 0)) best = { jpeg, ...size };
  }
  return best;
}

async function sizeOf(picture: Sharp): Promise<{ width: number; height: number } | null> {
  try {
    const { format, width, height } = await picture.metadata();
    return format === 'jpeg' ? { width, height } : null;
  } catch {
    return null;
  }
}
