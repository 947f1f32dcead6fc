import { PolewardError } from '../error.js';
import { indexOfBytes, viewOf } from './bytes.js';
import type { SaidZone } from './cameraZone.js';
import type { FrameDecoders, OpenPicture } from './decoders.js';
import { exifMetadata } from './exifMetadata.js';
import type { RasterKind } from './fileKind.js';
import type { FrameMetadata, Image } from './frame.js';
import { jpegScans, scansWithin } from './jpegScans.js';
import { meanOfPlanes } from './luminance.js';
import { pngWithoutExtras, pngXmp } from './pngWithoutExtras.js';
import { PACKED_AVIF, PACKED_JPEG, PACKED_PICTURE, PACKED_WEBP, refuseHiddenWork, refuseMemory, refuseUnpacking } from './tooLarge.js';
import { jpegPieces, unreadTiff } from './tiffKind.js';
import { unfinishedRows, unfinishedShare } from './unfinished.js';

const PACKINGS = {
  png: PACKED_PICTURE, tiff: PACKED_PICTURE, jpeg: PACKED_JPEG, webp: PACKED_WEBP, avif: PACKED_AVIF, heic: PACKED_AVIF,
} as const;

const AV1_LONGEST_SIDE = 65536;

/**
 * The (first) picture of a PNG, TIFF, JPEG, WebP, AVIF or HEIC file: sample values as stored, of colours the plain mean, without
 * transparency, not turned by its EXIF orientation (so all frames of a camera agree), no colour profile applied. The bytes are
 * overwritten. Throws {@link PolewardError} `not-an-image`, `file-truncated` or `too-large`.
 */
export async function decodeRaster(
  bytes: Uint8Array,
  kind: RasterKind,
  file: string,
  zone: SaidZone | null,
  openPicture: FrameDecoders['openPicture'],
): Promise<{ image: Image; metadata: FrameMetadata; notes: readonly string[]; unfinishedRows: number }> {
  if (kind === 'avif' && claimsImpossibleSide(bytes)) throw damaged(kind, file);
  const wordsOfPng = kind === 'png' ? pngXmp(bytes) : null;
  const picture = await openPicture(kind === 'png' ? pngWithoutExtras(bytes) : bytes, kind)
    .catch(() => { throw notDecoded(bytes, kind, file); });
  const { width, height, channels, sampleBytes, pages, otherColours } = picture;
  refuseUnpacking(width * height, channels * sampleBytes, bytes.length, file, PACKINGS[kind]);
  refuseHiddenWork(width, height, passesOf(bytes, kind), bytes.length, file, PACKINGS[kind]);
  refuseMemory(width * height * bytesPerPixel(picture, kind), file);
  if (otherColours !== null) {
    throw new PolewardError('not-an-image', `${file} stores its colours as ${otherColours}, not as grey or RGB. Save it as grey or RGB.`);
  }
  const samples = await picture.samples().catch(() => { throw notDecoded(bytes, kind, file); });
  const unfinished = unfinishedRows(samples.data, samples.width * samples.channels, samples.ceiling, [0, -1, NaN, samples.ceiling ?? NaN])
    || Math.ceil(samples.height * unfinishedShare(bytes, kind));
  const image = {
    width: samples.width, height: samples.height, ceiling: samples.ceiling,
    data: meanOfPlanes(samples.data, samples.width * samples.height, samples.channels, 'interleaved'),
  };
  // A TIFF file has the structure of EXIF, so its own tags are read.
  const metadata = exifMetadata(kind === 'tiff' ? bytes : picture.exif, zone, picture.xmp ?? wordsOfPng);
  return { image, metadata, notes: pages === 1 ? [] : [`It holds ${pages} pictures; the first was used.`], unfinishedRows: unfinished };
}

/**
 * Memory while a picture is unpacked: its samples, their mean (see `meanOfPlanes`), and what a decoder keeps of a picture stored in passes.
 */
function bytesPerPixel({ channels, sampleBytes, floatingPoint, inPasses }: OpenPicture, kind: RasterKind): number {
  const mean = channels < 3 ? 0 : sampleBytes < 4 || (floatingPoint && sampleBytes === 4) ? 4 : 8;
  // Of a progressive JPEG the 16-bit coefficients, of an interlaced PNG the picture.
  const passes = !inPasses ? 0 : kind === 'jpeg' ? 2 * channels : sampleBytes * channels;
  // These are unpacked as a whole, brightness and colour separately, and then converted to RGB.
  const whole = kind === 'webp' ? 4 : kind === 'avif' || kind === 'heic' ? 7 : 0;
  return sampleBytes * channels + mean + passes + whole;
}

/** How many times the decoder passes over the picture. */
function passesOf(bytes: Uint8Array, kind: RasterKind): number {
  if (kind === 'jpeg') return jpegScans(bytes).scans;
  const pieces = kind === 'tiff' ? jpegPieces(bytes) : null;
  return pieces === null ? 1 : scansWithin(bytes) / pieces;
}

/** The reason for a decoder's error at a file that begins as a picture: a kind of TIFF that is not read, or a file cut short or damaged. */
function notDecoded(bytes: Uint8Array, kind: RasterKind, file: string): PolewardError {
  const unread = kind === 'tiff' ? unreadTiff(bytes) : null;
  if (unread === null) return damaged(kind, file);
  return new PolewardError(
    'not-an-image', `${file} is a TIFF picture that ${unread}, which this program doesn't read. `
      + 'Save it uncompressed, with 8 or 16 bits a sample.',
  );
}

function damaged(kind: string, file: string): PolewardError {
  return new PolewardError('file-truncated', `${file} begins as ${kind.toUpperCase()} but is cut short or damaged. Copy or save it again.`);
}

/** True where an AVIF file has a picture wider or higher than AV1 allows: libvips would then write warnings to the terminal. */
function claimsImpossibleSide(bytes: Uint8Array): boolean {
  const view = viewOf(bytes);
  const data = indexOfBytes(bytes, 'mdat');
  const end = data < 0 ? bytes.length : data;
  // Name, version, width, height: ISO/IEC 23008-12, 6.5.3.
  for (let at = indexOfBytes(bytes, 'ispe'); at >= 0 && at + 16 <= end; at = indexOfBytes(bytes, 'ispe', at + 4)) {
    if (Math.max(view.getUint32(at + 8), view.getUint32(at + 12)) > AV1_LONGEST_SIDE) return true;
  }
  return false;
}
