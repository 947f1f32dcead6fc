import { Worker } from 'node:worker_threads';
import { PolewardError } from '../error.js';
import { decodeRaster } from './decodeRaster.js';
import { embeddedPreview, type Preview } from './embeddedPreview.js';
import { exifMetadata, noMetadata } from './exifMetadata.js';
import type { FrameMetadata, Image, PixelArray } from './frame.js';
import { rawMetadata } from './rawMetadata.js';
import { missingFromTiff, rawPixelsOfTiff } from './rawTiff.js';
import { mostPixels, PACKED_RAW, refuseUnpacking } from './tooLarge.js';

/** What LibRaw says of a file. */
export interface RawAbout {
  /** Of the whole sensor, dark rims included. */
  readonly width: number;
  readonly height: number;
  /** Seconds since 1970 of the camera's clock, taken for the computer's zone. */
  readonly localSeconds: number | null;
  readonly exposureSeconds: number | null;
  readonly focalLengthMillimetres: number | null;
}

/** What the thread says: that LibRaw is loaded and how long that took, then what came of the file. */
export type RawThreadSays = { readonly loadedAfterMs: number; readonly result?: never } | { readonly result: RawResult };

/** What came of a file. */
export interface RawResult {
  /** Null where LibRaw does not know the file. */
  readonly about: RawAbout | null;
  readonly picture: {
    readonly width: number;
    readonly height: number;
    /** As stored, or the mean of the colours. */
    readonly data: PixelArray;
    readonly ceiling: number | null;
    readonly mosaic: boolean;
  } | null;
}

export interface DecodedRaw {
  readonly image: Image;
  readonly metadata: FrameMetadata;
  readonly mosaic: boolean;
  /** Sentence for the person where it is the preview; null else. */
  readonly standIn: string | null;
}

/**
 * A file that keeps LibRaw longer than so many times what loading LibRaw took just before (a measure of the machine and of what else it
 * does), and a second for each megabyte, has sent it round in circles.
 */
const PATIENCE_LOADS = 6;
const LEAST_PATIENCE_MS = 1000;
/** Before that nothing depends on the file. */
const LOADING_PATIENCE_MS = 60_000;
/** A preview narrower than this share of the sensor is a thumbnail. */
const FULL_SIZE = 0.9;
/** And so is one narrower than this where the sensor's size is not known. */
const LEAST_WIDE = 1000;

/**
 * The picture in a camera raw: the pixels of the sensor's lit part as stored, nothing subtracted, stretched or turned. Where there are
 * three samples a pixel (linear DNG) or the mosaic's cell is not 2x2, the mean of the (linearly interpolated) colours.
 * Where LibRaw can't decode it, the largest JPEG inside it, if that is as wide as the sensor; `standIn` says so.
 * `run` asks LibRaw. Throws {@link PolewardError} `not-an-image`, `file-truncated` or `too-large`.
 */
export async function decodeRaw(
  bytes: Buffer, file: string, utcOffsetMinutes: number | null, run: (bytes: Buffer) => Promise<RawResult> = runOnThread,
): Promise<DecodedRaw> {
  const missing = isPlainTiff(bytes) ? missingFromTiff(bytes) : 'nothing';
  if (missing === 'a strip') throw cutShort(file);
  const refuse = (pixels: number): void => refuseUnpacking(pixels, 2, bytes.length, file, PACKED_RAW);
  // LibRaw takes the memory before it looks whether there is anything to put there.
  if (isPlainTiff(bytes)) refuse(rawPixelsOfTiff(bytes));
  const { about, picture } = await run(bytes);
  if (about) refuse(about.width * about.height);
  const preview = picture && isLikeTiff(bytes) ? null : await embeddedPreview(bytes);
  const metadata = await metadataOf(bytes, preview, about, utcOffsetMinutes);
  // Some lengths are said wrong, and LibRaw reads the file all the same.
  if (!picture && missing === 'an end') throw cutShort(file);
  if (!picture) return fromPreview(preview, file, about, metadata);
  const { width, height, data, ceiling, mosaic } = picture;
  return { image: { width, height, data, ceiling }, metadata, mosaic, standIn: null };
}

function cutShort(file: string): PolewardError {
  return new PolewardError('file-truncated', `${file} is a camera raw file that is cut short. Copy or save it again.`);
}

/** Built as TIFF from the first byte on. */
function isPlainTiff(bytes: Buffer): boolean {
  return /^(II\*\0|MM\0\*)/.test(bytes.toString('latin1', 0, 4));
}

/** Built as TIFF but for the number that says so. */
function isLikeTiff(bytes: Buffer): boolean {
  return /^(II|MM)/.test(bytes.toString('latin1', 0, 2));
}

/** By the file's own EXIF, else by that of its preview, else by what LibRaw says. */
async function metadataOf(bytes: Buffer, preview: Preview | null, about: RawAbout | null, utcOffsetMinutes: number | null): Promise<FrameMetadata> {
  if (isLikeTiff(bytes)) {
    // Nobody reads the number again.
    bytes.write(bytes[0] === 0x49 ? '*\0' : '\0*', 2, 'latin1');
    const own = exifMetadata(bytes, utcOffsetMinutes);
    if (about === null || own.exposureSeconds !== null || own.midExposure !== null) return own;
  }
  const theirs = preview?.exif ? exifMetadata(preview.exif, utcOffsetMinutes) : noMetadata(['It carries no EXIF data that can be read.']);
  return about === null || theirs.midExposure !== null ? theirs : rawMetadata(about, utcOffsetMinutes);
}

async function fromPreview(preview: Preview | null, file: string, about: RawAbout | null, metadata: FrameMetadata): Promise<DecodedRaw> {
  const wide = about ? FULL_SIZE * Math.max(about.width, about.height) : LEAST_WIDE;
  if (!preview || Math.max(preview.width, preview.height) < wide) {
    const has = preview ? `its preview is small (${preview.width} × ${preview.height})` : 'it has no preview';
    throw new PolewardError('not-an-image', `${file} is a camera raw file that can't be decoded, and ${has}. Have the camera save JPEG too, or turn it into DNG.`);
  }
  const { image } = await decodeRaster(preview.jpeg, 'jpeg', file, null);
  const standIn = `the raw pixels can't be decoded, so the preview inside was used (JPEG, ${preview.width} × ${preview.height}, processed by the camera), and stars' places are less sure. Turn the file into DNG for its own pixels.`;
  return { image, metadata, mosaic: false, standIn };
}

/** LibRaw on a thread of its own: what it does with a damaged file can then be ended. */
function runOnThread(bytes: Buffer): Promise<RawResult> {
  return new Promise((resolve) => {
    // A copy of these bytes only: they may be part of memory that is used again.
    const copy = new Uint8Array(bytes);
    const worker = new Worker(new URL('../node/rawWorker.js', import.meta.url), {
      workerData: { bytes: copy, mostPixels: mostPixels(bytes.length, PACKED_RAW) }, transferList: [copy.buffer], stdout: true, stderr: true,
      // Node's own, such as --input-type, may not go with a file.
      execArgv: [],
    });
    const end = (result: RawResult): void => {
      clearTimeout(timer);
      resolve(result);
      void worker.terminate();
    };
    const failed = (): void => end({ about: null, picture: null });
    let timer = setTimeout(failed, LOADING_PATIENCE_MS);
    worker.on('message', (says: RawThreadSays) => {
      if (says.result) return end(says.result);
      clearTimeout(timer);
      timer = setTimeout(failed, Math.max(LEAST_PATIENCE_MS, PATIENCE_LOADS * says.loadedAfterMs) + bytes.length / 1000);
    }).on('error', failed).on('exit', failed);
  });
}
