import { open, type FileHandle } from 'node:fs/promises';
import { PolewardError } from '../error.js';
import { decodeFrame, type DecodeFrameOptions, readableKind } from '../frames/decodeFrame.js';
import { KIND_BYTES } from '../frames/fileKind.js';
import type { Frame } from '../frames/frame.js';
import { refuseTooManyBytes } from '../frames/tooLarge.js';
import { nodeDecoders } from './decoders.js';

export interface ReadFrameOptions extends DecodeFrameOptions {
  /**
   * Memory to read the file into, from `Buffer.allocUnsafeSlow`, used if the file fits. A FITS frame's pixels then lie in it: be done with
   * one frame before the next is read into the same. Saves fresh memory, which can cost more time than reading the file.
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
  let handle: FileHandle | null = null;
  try {
    handle = await open(path);
    const status = await handle.stat();
    if (status.isDirectory()) throw new PolewardError('file-unreadable', `${path} is a folder. Name the frames in it.`);
    if (!status.isFile()) throw new PolewardError('file-unreadable', `${path} is no regular file. Save the frame to disk and give that.`);
    if (status.size === 0) throw new PolewardError('file-truncated', `${path} is empty. Copy or save it again.`);
    const start = await fill(handle, Buffer.alloc(KIND_BYTES));
    readableKind(start, path);
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
