import { PolewardError } from '../error.js';
import { latin1 } from './bytes.js';
import type { SaidZone } from './cameraZone.js';
import type { FrameDecoders, RawAbout } from './decoders.js';
import { decodeRaster } from './decodeRaster.js';
import { embeddedPreview, type Preview } from './embeddedPreview.js';
import { exifMetadata, noMetadata } from './exifMetadata.js';
import type { FrameMetadata, Image } from './frame.js';
import { rawMetadata } from './rawMetadata.js';
import { missingFromTiff, rawPixelsOfTiff } from './rawTiff.js';
import { mostPixels, PACKED_RAW, refuseTooManyRawBytes, refuseUnpacking } from './tooLarge.js';
import { unfinishedRows } from './unfinished.js';

export interface DecodedRaw {
  readonly image: Image;
  readonly metadata: FrameMetadata;
  readonly mosaic: boolean;
  /** Sentence for the person where the preview is used; null else. */
  readonly standIn: string | null;
  /** Rows at the end that seem not to be written yet. */
  readonly unfinishedRows: number;
}

/** A preview narrower than this share of the sensor is a thumbnail. */
const FULL_SIZE = 0.9;
/** So is one narrower than this where the sensor's size is unknown. */
const LEAST_WIDE = 1000;

/**
 * The picture in a camera raw: the pixels of the sensor's lit part as stored, nothing subtracted, stretched or turned. Where there are
 * three samples a pixel (linear DNG) or the mosaic's cell is not 2x2, the mean of the (linearly interpolated) colours. Where the decoder
 * fails, the largest JPEG inside, if that is as wide as the sensor; `standIn` then says so. The bytes are overwritten. Throws {@link
 * PolewardError} `not-an-image`, `file-truncated` or `too-large`.
 */
export async function decodeRaw(
  bytes: Uint8Array, file: string, zone: SaidZone | null, decoders: Pick<FrameDecoders, 'decodeRaw' | 'openPicture'>,
): Promise<DecodedRaw> {
  refuseTooManyRawBytes(bytes.length, file);
  const missing = isPlainTiff(bytes) ? missingFromTiff(bytes) : 'nothing';
  if (missing === 'a strip') throw cutShort(file);
  const refuse = (pixels: number): void => refuseUnpacking(pixels, 2, bytes.length, file, PACKED_RAW);
  // The decoder takes the memory before it checks whether there is a picture.
  if (isPlainTiff(bytes)) refuse(rawPixelsOfTiff(bytes));
  const { about, picture } = await decoders.decodeRaw(bytes, mostPixels(bytes.length, PACKED_RAW));
  if (about) refuse(about.width * about.height);
  const preview = picture && isLikeTiff(bytes) ? null : await embeddedPreview(bytes, decoders.openPicture);
  const metadata = metadataOf(bytes, preview, about, zone);
  // Some lengths are wrong in files that the decoder reads nevertheless.
  if (!picture && missing === 'an end') throw cutShort(file);
  if (!picture) return fromPreview(preview, file, about, metadata, decoders.openPicture);
  const { width, height, data, ceiling, mosaic } = picture;
  const image = { width, height, data, ceiling };
  return { image, metadata, mosaic, standIn: null, unfinishedRows: unfinishedRows(data, width, ceiling, null) };
}

function cutShort(file: string): PolewardError {
  return new PolewardError('file-truncated', `${file} is a camera raw file that is cut short. Copy or save it again.`);
}

/** TIFF structure from the first byte on. */
function isPlainTiff(bytes: Uint8Array): boolean {
  return /^(II\*\0|MM\0\*)/.test(latin1(bytes, 0, 4));
}

/** TIFF structure except for the number that identifies it. */
function isLikeTiff(bytes: Uint8Array): boolean {
  return /^(II|MM)/.test(latin1(bytes, 0, 2));
}

/** By the file's own EXIF, else by its preview's, else by the decoder. */
function metadataOf(bytes: Uint8Array, preview: Preview | null, about: RawAbout | null, zone: SaidZone | null): FrameMetadata {
  if (isLikeTiff(bytes)) {
    // TIFF's own number: the bytes are not used after this.
    bytes.set(bytes[0] === 0x49 ? [42, 0] : [0, 42], 2);
    const own = exifMetadata(bytes, zone);
    if (about === null || own.exposureSeconds !== null || own.midExposure !== null) return own;
  }
  const theirs = preview?.about.exif
    ? exifMetadata(preview.about.exif, zone)
    : noMetadata(['It carries no EXIF data that can be read.']);
  return about === null || theirs.midExposure !== null ? theirs : rawMetadata(about, zone);
}

async function fromPreview(
  preview: Preview | null, file: string, about: RawAbout | null, metadata: FrameMetadata, openPicture: FrameDecoders['openPicture'],
): Promise<DecodedRaw> {
  const wide = about ? FULL_SIZE * Math.max(about.width, about.height) : LEAST_WIDE;
  if (!preview || Math.max(preview.about.width, preview.about.height) < wide) {
    const has = preview ? `its preview is small (${preview.about.width} × ${preview.about.height})` : 'it has no preview';
    throw new PolewardError(
      'not-an-image', `${file} is a camera raw file that can't be decoded, and ${has}. Have the camera save JPEG too, or turn it into DNG.`,
    );
  }
  const { image, unfinishedRows } = await decodeRaster(preview.jpeg, 'jpeg', file, null, openPicture);
  const size = `${preview.about.width} × ${preview.about.height}`;
  const standIn = `the raw pixels can't be decoded, so the preview inside was used (JPEG, ${size}, processed by the camera), `
    + 'and stars\' places are less sure. '
    + 'Turn the file into DNG for its own pixels.';
  return { image, metadata, mosaic: false, standIn, unfinishedRows };
}
