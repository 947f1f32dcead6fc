import type { OpenPicture, PictureSamples } from '../../frames/decoders.js';
import type { PictureHeader } from './pictureHeader.js';

/**
 * A picture that the browser unpacks: 8 bits a sample, its colours left as they are stored. `plain` has no orientation left to turn it by.
 *
 * @param type such as "image/jpeg"
 */
export function browserPicture({ plain, ...header }: PictureHeader, type: string): OpenPicture {
  return { ...header, sampleBytes: 1, floatingPoint: false, pages: 1, samples: () => samplesOf(plain, type) };
}

async function samplesOf(plain: Uint8Array, type: string): Promise<PictureSamples> {
  const bitmap = await createImageBitmap(new Blob([plain as Uint8Array<ArrayBuffer>], { type }), {
    colorSpaceConversion: 'none', premultiplyAlpha: 'none',
  });
  try {
    const { width, height } = bitmap;
    const brush = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
    if (!brush) throw new Error('no canvas of this size');
    brush.drawImage(bitmap, 0, 0);
    return { width, height, channels: 3, ceiling: 255, data: withoutAlpha(brush.getImageData(0, 0, width, height).data) };
  } finally {
    bitmap.close();
  }
}

/** Red, green and blue moved together where they lie. */
function withoutAlpha(samples: Uint8ClampedArray): Uint8Array {
  const pixels = samples.length / 4;
  for (let i = 0, at = 0, to = 0; i < pixels; i++, at += 4, to += 3) {
    samples[to] = samples[at]!;
    samples[to + 1] = samples[at + 1]!;
    samples[to + 2] = samples[at + 2]!;
  }
  return new Uint8Array(samples.buffer, samples.byteOffset, 3 * pixels);
}
