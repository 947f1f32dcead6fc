import { open, type FileHandle } from 'node:fs/promises';
import { PolewardError } from '../error.js';
import { decodeFits } from './decodeFits.js';
import { fileKind, KIND_BYTES } from './fileKind.js';
import { fitsMetadata } from './fitsMetadata.js';
import type { Frame } from './frame.js';

/** Larger files hold no single camera frame (61 megapixels in three 32-bit planes are 0.7 GiB). */
const LARGEST_BYTES = 2 ** 30;

export interface ReadFrameOptions {
  /** Minutes east of UTC of the clock behind times that carry no zone (EXIF, FITS with a local TIMESYS). It never shifts a time in UTC. */
  readonly utcOffsetMinutes?: number;
}

/**
 * Reads a picture and what its file says about it: FITS, TIFF, PNG, JPEG, told apart by their first bytes.
 * Throws {@link PolewardError} `file-unreadable`, `not-an-image`, `file-truncated` or `too-large`.
 */
export async function readFrame(path: string, options: ReadFrameOptions = {}): Promise<Frame> {
  const bytes = await readImageFile(path);
  const { image, headers } = decodeFits(bytes, path);
  return { file: path, image, metadata: fitsMetadata(headers, options.utcOffsetMinutes ?? null) };
}

async function readImageFile(path: string): Promise<Buffer> {
  let handle: FileHandle | null = null;
  try {
    handle = await open(path);
    const status = await handle.stat();
    if (status.isDirectory()) throw new PolewardError('file-unreadable', `${path} is a folder. Name the frames in it.`);
    if (!status.isFile()) throw new PolewardError('file-unreadable', `${path} is no regular file. Save the frame to disk and give that.`);
    if (status.size === 0) throw new PolewardError('file-truncated', `${path} is empty. Copy or save it again.`);
    const start = await fill(handle, Buffer.alloc(KIND_BYTES));
    if (fileKind(start) === null) throw notAnImage(path);
    if (status.size > LARGEST_BYTES) {
      const size = (status.size / 2 ** 30).toFixed(1);
      throw new PolewardError('too-large', `${path} has ${size} GiB, more than the 1 GiB this program reads. Give single frames, binned if need be.`);
    }
    // Not from the shared pool: typed arrays over it want an aligned start.
    return await fill(handle, Buffer.allocUnsafeSlow(status.size));
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

function notAnImage(path: string): PolewardError {
  return new PolewardError(
    'not-an-image',
    `${path} is not an image this program reads (FITS, TIFF, PNG, JPEG). Give frames saved in one of these.`,
  );
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
