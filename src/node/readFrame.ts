import { open, type FileHandle } from 'node:fs/promises';
import { PolewardError } from '../error.js';
import { decodeFits } from '../frames/decodeFits.js';
import { type FileKind, fileKind, KIND_BYTES, type RasterKind } from '../frames/fileKind.js';
import { fitsMetadata } from '../frames/fitsMetadata.js';
import type { Frame, Image } from '../frames/frame.js';
import { mosaicToLuminance } from '../frames/mosaic.js';
import { refuseTooManyBytes } from '../frames/tooLarge.js';

export interface ReadFrameOptions {
  /** Minutes east of UTC of the clock behind times that carry no zone (EXIF, FITS with a local TIMESYS). It never shifts a time in UTC. */
  readonly utcOffsetMinutes?: number;
  /**
   * Memory to read the file into, from `Buffer.allocUnsafeSlow`, used if the file fits. A FITS frame's pixels then lie in it: be done with
   * one frame before the next is read into the same. Saves fresh memory, which can cost more time than reading the file.
   */
  readonly memory?: Buffer;
}

/**
 * Reads a picture and what its file says about it: FITS (also gzip- or tile-compressed), camera raw, TIFF, PNG, JPEG, WebP, AVIF, told
 * apart by what is in them, not by their names.
 * Throws {@link PolewardError} `file-unreadable`, `not-an-image`, `file-truncated` or `too-large`.
 */
export async function readFrame(path: string, options: ReadFrameOptions = {}): Promise<Frame> {
  const bytes = await readImageFile(path, options.memory);
  const utcOffsetMinutes = options.utcOffsetMinutes ?? null;
  // What only some kinds need is loaded only for them.
  switch (kindOf(bytes, path)) {
    case 'fits':
      return fitsFrame(bytes, path, utcOffsetMinutes);
    case 'gzip': {
      const { gunzipFits } = await import('../frames/gunzipFits.js');
      return fitsFrame(await gunzipFits(bytes, path), path, utcOffsetMinutes);
    }
    case 'raw':
      return rawFrame(bytes, path, utcOffsetMinutes);
    case 'tiff': {
      const { isRawTiff } = await import('../frames/rawTiff.js');
      return isRawTiff(bytes) ? rawFrame(bytes, path, utcOffsetMinutes) : rasterFrame(bytes, 'tiff', path, utcOffsetMinutes);
    }
    case 'png': return rasterFrame(bytes, 'png', path, utcOffsetMinutes);
    case 'jpeg': return rasterFrame(bytes, 'jpeg', path, utcOffsetMinutes);
    case 'webp': return rasterFrame(bytes, 'webp', path, utcOffsetMinutes);
    case 'avif': return rasterFrame(bytes, 'avif', path, utcOffsetMinutes);
  }
}

async function fitsFrame(bytes: Buffer, path: string, utcOffsetMinutes: number | null): Promise<Frame> {
  const { image, headers, mosaic, notes } = await decodeFits(bytes, path);
  const firstRowBottom = String(headers.get('ROWORDER') ?? '').trim().toUpperCase() !== 'TOP-DOWN';
  return { file: path, firstRowBottom, standIn: null, notes, metadata: fitsMetadata(headers, utcOffsetMinutes), ...luminance(image, mosaic) };
}

async function rawFrame(bytes: Buffer, path: string, utcOffsetMinutes: number | null): Promise<Frame> {
  const { decodeRaw } = await import('../frames/decodeRaw.js');
  const { image, metadata, mosaic, standIn } = await decodeRaw(bytes, path, utcOffsetMinutes);
  return { file: path, firstRowBottom: false, standIn, notes: [], metadata, ...luminance(image, mosaic) };
}

async function rasterFrame(bytes: Buffer, kind: RasterKind, path: string, utcOffsetMinutes: number | null): Promise<Frame> {
  const { decodeRaster } = await import('../frames/decodeRaster.js');
  return { file: path, pixelOffset: 0, firstRowBottom: false, standIn: null, ...(await decodeRaster(bytes, kind, path, utcOffsetMinutes)) };
}

function luminance(image: Image, mosaic: boolean): Pick<Frame, 'image' | 'pixelOffset'> {
  if (!mosaic) return { image, pixelOffset: 0 };
  // 16-bit means go where the pixels were: nobody else holds them, and fresh memory is slow to get.
  return { image: mosaicToLuminance(image, image.data instanceof Uint16Array ? image.data : undefined), pixelOffset: 0.5 };
}

/** The kind of a file that can be read. Throws `not-an-image` for one that can't, and says what to do about it. */
function kindOf(bytes: Buffer, path: string): Exclude<FileKind, 'heic' | 'jxl'> {
  const kind = fileKind(bytes);
  if (kind === 'heic') {
    throw new PolewardError('not-an-image', `${path} is a HEIF picture compressed by HEVC, which this program doesn't read. Set the camera to JPEG or raw, or turn it into JPEG.`);
  }
  if (kind === 'jxl') throw new PolewardError('not-an-image', `${path} is a JPEG XL picture, which this program doesn't read. Save it as TIFF, PNG or JPEG.`);
  if (kind === null) {
    throw new PolewardError(
      'not-an-image',
      `${path} is not an image this program reads (FITS, camera raw, TIFF, PNG, JPEG, WebP, AVIF). Give frames saved in one of these.`,
    );
  }
  return kind;
}

async function readImageFile(path: string, memory: Buffer | undefined): Promise<Buffer> {
  let handle: FileHandle | null = null;
  try {
    handle = await open(path);
    const status = await handle.stat();
    if (status.isDirectory()) throw new PolewardError('file-unreadable', `${path} is a folder. Name the frames in it.`);
    if (!status.isFile()) throw new PolewardError('file-unreadable', `${path} is no regular file. Save the frame to disk and give that.`);
    if (status.size === 0) throw new PolewardError('file-truncated', `${path} is empty. Copy or save it again.`);
    const start = await fill(handle, Buffer.alloc(KIND_BYTES));
    kindOf(start, path);
    refuseTooManyBytes(status.size, path);
    // Not from the shared pool: typed arrays over it want an aligned start.
    const room = memory && memory.length >= status.size ? memory.subarray(0, status.size) : Buffer.allocUnsafeSlow(status.size);
    return await fill(handle, room);
  } catch (error) {
    throw error instanceof PolewardError ? error : unreadable(path, error);
  } finally {
    await handle?.close();
  }
}

/** Reads from the start of the file until `buffer` is full or the file ends; what was read. */
async function fill(handle: FileHandle, buffer: Buffer): Promise<Buffer> {
  let done = 0;
  while (done < buffer.length) {
    const { bytesRead } = await handle.read(buffer, done, buffer.length - done, done);
    if (bytesRead === 0) break;
    done += bytesRead;
  }
  return buffer.subarray(0, done);
}

function unreadable(path: string, error: unknown): PolewardError {
  const code = error instanceof Error && 'code' in error ? String(error.code) : '';
  if (code === 'ENOENT' || code === 'ENOTDIR') {
    return new PolewardError('file-unreadable', `There is no file ${path}. Check its name and folder.`);
  }
  if (code === 'EACCES' || code === 'EPERM') {
    return new PolewardError('file-unreadable', `${path} may not be read by this user. Check its permissions.`);
  }
  if (code === 'EISDIR') return new PolewardError('file-unreadable', `${path} is a folder. Name the frames in it.`);
  return new PolewardError('file-unreadable', `${path} can't be read (${code || String(error)}). Check the disk it is on.`);
}
