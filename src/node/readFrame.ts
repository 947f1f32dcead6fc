import type { FileHandle } from 'node:fs/promises';
import { PolewardError } from '../error.js';
import { decodeFrame, type DecodeFrameOptions, readableKind } from '../frames/decodeFrame.js';
import { KIND_BYTES } from '../frames/fileKind.js';
import type { Frame } from '../frames/frame.js';
import { refuseTooManyBytes } from '../frames/tooLarge.js';
import { printable } from '../printable.js';
import { nodeDecoders } from './decoders.js';
import { FileError, type FileTrouble, openRegular, type OpenFile } from './regularFile.js';

export interface ReadFrameOptions extends DecodeFrameOptions {
  /**
   * Memory to read the file into, from `Buffer.allocUnsafeSlow`, used if the file fits. A FITS frame's pixels are then in it: finish with
   * one frame before the next is read into the same memory. This saves new memory, which can take longer to get than reading the file.
   */
  readonly memory?: Buffer;
}

/**
 * Reads a picture and what its file says about it: see `decodeFrame`.
 * Throws {@link PolewardError} `file-unreadable`, `not-an-image`, `file-truncated` or `too-large`.
 */
export async function readFrame(path: string, options: ReadFrameOptions = {}): Promise<Frame> {
  return decodeFrame(await readImageFile(path, options.memory), path, nodeDecoders, options);
}

async function readImageFile(path: string, memory: Buffer | undefined): Promise<Buffer> {
  const name = printable(path);
  let file: OpenFile | null = null;
  try {
    file = await openRegular(path);
    const { handle, size, onDisk } = file;
    if (size === 0) throw new PolewardError('file-truncated', `${name} is empty. Copy or save it again.`);
    readableKind(await fill(handle, Buffer.alloc(KIND_BYTES)), name);
    refuseTooManyBytes(size, name);
    refuseHoles(size, onDisk, name);
    // Not from the shared pool: typed arrays over it need an aligned start.
    const room = memory && memory.length >= size ? memory.subarray(0, size) : Buffer.allocUnsafeSlow(size);
    return await fill(handle, room);
  } catch (error) {
    throw error instanceof PolewardError ? error : unreadable(name, error);
  } finally {
    await file?.handle.close();
  }
}

/** Smaller files are read whatever they are. */
const HOLES_FROM_BYTES = 2 ** 26;
/** Disks that compress their content compress no picture more tightly. */
const LEAST_SHARE_ON_DISK = 1 / 32;

/** Throws for a large file of which little was written: its copying has just begun, or was broken off. */
function refuseHoles(size: number, onDisk: number, name: string): void {
  if (size < HOLES_FROM_BYTES || onDisk === 0 || onDisk >= LEAST_SHARE_ON_DISK * size) return;
  throw new PolewardError(
    'file-truncated',
    `${name} has room for ${megabytes(size)} but only ${megabytes(onDisk)} were written. Wait until it is whole, or copy it again.`,
  );
}

function megabytes(bytes: number): string {
  return `${(bytes / 1e6).toFixed(1)} MB`;
}

/** Reads from the start of the file until `buffer` is full or the file ends; returns what was read. */
async function fill(handle: FileHandle, buffer: Buffer): Promise<Buffer> {
  let done = 0;
  while (done < buffer.length) {
    const { bytesRead } = await handle.read(buffer, done, buffer.length - done, done);
    if (bytesRead === 0) break;
    done += bytesRead;
  }
  return buffer.subarray(0, done);
}

/** What the person can do about a frame that can't be opened or read. */
const REMEDIES: Readonly<Record<FileTrouble, string>> = {
  'missing': 'Check its name and folder.',
  'not UTF-8': 'Rename it.',
  'folder': 'Name the frames in it.',
  'not regular': 'Save the frame to disk and give that.',
  'link': 'Give the file itself.',
  'endless link': 'Give the file itself.',
  'name too long': 'Shorten it.',
  'not permitted': 'Check its permissions.',
  'too large': 'Give single frames.',
  'failed': 'Check the disk it is on.',
};

function unreadable(name: string, error: unknown): PolewardError {
  if (error instanceof FileError) return new PolewardError('file-unreadable', `${error.message} ${REMEDIES[error.trouble]}`);
  const code = error instanceof Error && 'code' in error ? String(error.code) : String(error);
  return new PolewardError('file-unreadable', `${name} can't be read (${code}). ${REMEDIES.failed}`);
}
