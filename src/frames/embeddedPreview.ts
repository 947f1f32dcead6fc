import type { Sharp } from 'sharp';

/** A JPEG picture inside another file. */
export interface Preview {
  /** From where it begins to the end of the file it is in. */
  readonly jpeg: Buffer;
  readonly width: number;
  readonly height: number;
  readonly exif: Buffer | null;
}

/** Where a JPEG file begins (ITU-T T.81: start of image, and the first byte of the next marker). */
const START = Buffer.of(0xff, 0xd8, 0xff);
/** Compressed data hold the three bytes by chance now and then. */
const MOST_TRIED = 200;

/** The largest JPEG picture inside another file; null where there is none. */
export async function embeddedPreview(bytes: Buffer): Promise<Preview | null> {
  const { default: sharp } = await import('sharp');
  let best: Preview | null = null;
  let at = bytes.indexOf(START);
  for (let tried = 0; at >= 0 && tried < MOST_TRIED; tried++, at = bytes.indexOf(START, at + 1)) {
    const jpeg = bytes.subarray(at);
    const found = await about(sharp(jpeg, { limitInputPixels: false }));
    // The mosaic itself may be a (lossless) JPEG, which sharp does not read: nothing is found then.
    if (found && found.width * found.height > (best?.width ?? 0) * (best?.height ?? 0)) best = { jpeg, ...found };
  }
  return best;
}

async function about(picture: Sharp): Promise<Omit<Preview, 'jpeg'> | null> {
  try {
    const { format, width, height, exif } = await picture.metadata();
    return format === 'jpeg' ? { width, height, exif: exif ?? null } : null;
  } catch {
    return null;
  }
}
