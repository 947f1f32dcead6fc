import { PolewardError } from '../error.js';
import { printable } from '../printable.js';
import type { SaidZone } from './cameraZone.js';
import { decodeFits } from './decodeFits.js';
import type { FrameDecoders } from './decoders.js';
import { type FileKind, fileKind, type RasterKind } from './fileKind.js';
import { fitsMetadata } from './fitsMetadata.js';
import type { Frame, Image } from './frame.js';
import { mosaicToLuminance } from './mosaic.js';
import { refuseTooManyBytes } from './tooLarge.js';

export interface DecodeFrameOptions {
  /** Minutes east of UTC of the clock, for times that carry no zone (EXIF, FITS with a local TIMESYS). It never shifts a time in UTC. */
  readonly utcOffsetMinutes?: number;
  /** Its zone by name instead, such as Europe/Madrid: daylight saving goes by the frame's date. */
  readonly zoneName?: string;
  /** The source of either, for the answer's line about its time: an option, a rig file. */
  readonly zoneFrom?: string;
}

/**
 * A picture and what its file says about it, from the bytes of the file: FITS (also gzip- or tile-compressed), camera raw, TIFF, PNG, JPEG,
 * WebP, AVIF, recognised by their content, not by their names. `name` names the file in messages. The bytes are overwritten: a FITS frame's
 * pixels are then in their memory. Throws {@link PolewardError} `not-an-image`, `file-truncated` or `too-large`.
 */
export async function decodeFrame(
  bytes: Uint8Array, name: string, decoders: FrameDecoders, options: DecodeFrameOptions = {},
): Promise<Frame> {
  const frame = await decodeNamed(bytes, printable(name), decoders, options);
  return { ...frame, file: name };
}

async function decodeNamed(bytes: Uint8Array, name: string, decoders: FrameDecoders, options: DecodeFrameOptions): Promise<Frame> {
  if (bytes.length === 0) throw new PolewardError('file-truncated', `${name} is empty. Copy or save it again.`);
  refuseTooManyBytes(bytes.length, name);
  const said = options.zoneName ?? options.utcOffsetMinutes ?? null;
  const zone: SaidZone | null = said === null || options.zoneFrom === undefined ? said : { zone: said, from: options.zoneFrom };
  // What only some formats need is loaded only for them.
  const kind = readableKind(bytes, name, decoders.mayKnowHeic);
  switch (kind) {
    case 'fits': return fitsFrame(bytes, name, decoders, zone);
    case 'gzip': {
      const { gunzipFits } = await import('./gunzipFits.js');
      const { bytes: unpacked, damagedBehind } = await gunzipFits(bytes, name, decoders.gunzipPieces);
      const frame = await fitsFrame(unpacked, name, decoders, zone);
      // Which rows belong to the file is unknown.
      return damagedBehind ? { ...frame, unfinished: frame.unfinished ?? { rows: frame.image.height } } : frame;
    }
    case 'raw': return rawFrame(bytes, name, decoders, zone);
    case 'tiff': {
      const { isRawTiff } = await import('./rawTiff.js');
      return (isRawTiff(bytes) ? rawFrame : rasterFrame)(bytes, name, decoders, zone, kind);
    }
    case 'heic': return heicFrame(bytes, name, decoders, zone);
    default: return rasterFrame(bytes, name, decoders, zone, kind);
  }
}

/** The format of a readable file, by its first bytes. Throws `not-an-image` for any other, and says what to do. */
export function readableKind(bytes: Uint8Array, name: string, mayKnowHeic = false): Exclude<FileKind, 'jxl'> {
  const kind = fileKind(bytes);
  if (kind === 'heic' && !mayKnowHeic) throw heicUnread(name);
  if (kind === 'jxl') {
    throw new PolewardError('not-an-image', `${name} is a JPEG XL picture, which this program doesn't read. Save it as TIFF, PNG or JPEG.`);
  }
  if (kind === null) {
    throw new PolewardError(
      'not-an-image',
      `${name} is not an image this program reads (FITS, camera raw, TIFF, PNG, JPEG, WebP, AVIF). Give frames saved in one of these.`,
    );
  }
  return kind;
}

async function fitsFrame(bytes: Uint8Array, file: string, { gunzip }: FrameDecoders, zone: SaidZone | null): Promise<Frame> {
  const { image, headers, mosaic, notes, unfinishedRows } = await decodeFits(bytes, file, gunzip);
  const firstRowBottom = String(headers.get('ROWORDER') ?? '').trim().toUpperCase() !== 'TOP-DOWN';
  const metadata = fitsMetadata(headers, zone);
  return { file, firstRowBottom, standIn: null, notes, metadata, ...luminance(image, mosaic), ...unfinished(unfinishedRows) };
}

async function rawFrame(bytes: Uint8Array, file: string, decoders: FrameDecoders, zone: SaidZone | null): Promise<Frame> {
  const { decodeRaw } = await import('./decodeRaw.js');
  const { image, metadata, mosaic, standIn, unfinishedRows } = await decodeRaw(bytes, file, zone, decoders);
  return { file, firstRowBottom: false, standIn, notes: [], metadata, ...luminance(image, mosaic), ...unfinished(unfinishedRows) };
}

async function rasterFrame(
  bytes: Uint8Array, file: string, { openPicture }: FrameDecoders, zone: SaidZone | null, kind: RasterKind,
): Promise<Frame> {
  const { decodeRaster } = await import('./decodeRaster.js');
  const { image, metadata, notes, unfinishedRows } = await decodeRaster(bytes, kind, file, zone, openPicture);
  return { file, pixelOffset: 0, firstRowBottom: false, standIn: null, image, metadata, notes, ...unfinished(unfinishedRows) };
}

/** Whether a decoder knows HEIC shows only when it is asked to unpack it. */
async function heicFrame(bytes: Uint8Array, file: string, decoders: FrameDecoders, zone: SaidZone | null): Promise<Frame> {
  try {
    return await rasterFrame(bytes, file, decoders, zone, 'heic');
  } catch (error) {
    throw error instanceof PolewardError && error.code === 'file-truncated' ? heicUnread(file) : error;
  }
}

function heicUnread(file: string): PolewardError {
  return new PolewardError('not-an-image', `${file} is a HEIF picture compressed by HEVC, which this program doesn't read. Set the camera `
    + 'to JPEG or raw, or turn it into JPEG.');
}

function unfinished(rows: number): Pick<Frame, 'unfinished'> {
  return rows > 0 ? { unfinished: { rows } } : {};
}

function luminance(image: Image, mosaic: boolean): Pick<Frame, 'image' | 'pixelOffset'> {
  if (!mosaic) return { image, pixelOffset: 0 };
  // 16-bit means are written over the pixels, which nothing else uses: new memory takes longer to get.
  return { image: mosaicToLuminance(image, image.data instanceof Uint16Array ? image.data : undefined), pixelOffset: 0.5 };
}
