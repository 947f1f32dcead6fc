import { closeSync, constants, fstatSync, openSync, readSync } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { printable } from '../printable.js';

/** Why a file could not be opened or read. */
export type FileTrouble =
  | 'missing' | 'not UTF-8' | 'name too long' | 'folder' | 'not regular' | 'link' | 'endless link'
  | 'not permitted' | 'too large' | 'failed';

/** A file that could not be read. The message is one sentence of what is wrong; the remedy depends on the file's purpose. */
export class FileError extends Error {
  readonly trouble: FileTrouble;

  constructor(trouble: FileTrouble, message: string) {
    super(message);
    this.name = 'FileError';
    this.trouble = trouble;
  }
}

export interface OpenOptions {
  /** How the file is called in messages; else its path. */
  readonly called?: string;
  /** False where the path must not be a symbolic link: where another user could have put one. Default true. */
  readonly followLinks?: boolean;
}

/** A regular file, open for reading. */
export interface OpenFile {
  readonly handle: FileHandle;
  /** Bytes when it was opened. */
  readonly size: number;
  /** Bytes that it takes on its disk: fewer than its size where parts were never written. 0 where the disk does not say. */
  readonly onDisk: number;
  readonly modifiedMs: number;
}

/**
 * Opens a regular file for reading. Anything else (a named pipe, a device, a socket, a folder, a link that leads in a circle) is refused
 * without waiting and without reading from it. Close the handle.
 *
 * @throws FileError
 */
export async function openRegular(path: string, options: OpenOptions = {}): Promise<OpenFile> {
  const called = printable(options.called ?? path);
  let handle: FileHandle | null = null;
  try {
    handle = await open(path, flags(options));
    const status = await handle.stat();
    refuseOthers(status, called);
    return { handle, size: status.size, onDisk: (status.blocks ?? 0) * 512, modifiedMs: status.mtimeMs };
  } catch (error) {
    await handle?.close();
    throw troubleOf(error, path, called, options);
  }
}

/**
 * The bytes of a regular file: as many as it had when it was opened, or fewer where it was cut since.
 *
 * @throws FileError, `too large` for more than `mostBytes`, before any are read
 */
export function readRegularFile(path: string, mostBytes: number, options: OpenOptions = {}): Buffer {
  const called = printable(options.called ?? path);
  let descriptor: number | null = null;
  try {
    descriptor = openSync(path, flags(options));
    const status = fstatSync(descriptor);
    refuseOthers(status, called);
    if (status.size > mostBytes) throw new FileError(
      'too large', `${called} has ${status.size} bytes, more than the ${mostBytes} that are read.`,
    );
    const bytes = Buffer.alloc(status.size);
    let done = 0;
    while (done < bytes.length) {
      const count = readSync(descriptor, bytes, done, bytes.length - done, done);
      if (count === 0) break;
      done += count;
    }
    return bytes.subarray(0, done);
  } catch (error) {
    throw troubleOf(error, path, called, options);
  } finally {
    if (descriptor !== null) closeSync(descriptor);
  }
}

/** Does not wait for a writer of a pipe, and takes no terminal as this process's own. Flags that a system lacks are left out. */
function flags({ followLinks = true }: OpenOptions): number {
  const { O_RDONLY, O_NONBLOCK = 0, O_NOCTTY = 0, O_NOFOLLOW = 0 } = constants as Partial<typeof constants>;
  return (O_RDONLY ?? 0) | O_NONBLOCK | O_NOCTTY | (followLinks ? 0 : O_NOFOLLOW);
}

interface Kind {
  isFile(): boolean;
  isDirectory(): boolean;
  isFIFO(): boolean;
  isSocket(): boolean;
}

function refuseOthers(status: Kind, called: string): void {
  if (status.isFile()) return;
  if (status.isDirectory()) throw new FileError('folder', `${called} is a folder.`);
  throw new FileError(
    'not regular', `${called} is not a regular file but a ${status.isFIFO() ? 'named pipe' : status.isSocket() ? 'socket' : 'device'}.`,
  );
}

function troubleOf(error: unknown, path: string, called: string, { followLinks = true }: OpenOptions): FileError {
  if (error instanceof FileError) return error;
  const code = error instanceof Error && 'code' in error ? String(error.code) : '';
  switch (code) {
    case 'ENOENT': case 'ENOTDIR':
      // Node replaces bytes of a name that are not UTF-8 by this character, and the name is then no longer the file's.
      return path.includes('\uFFFD')
        ? new FileError('not UTF-8', `The name ${called} holds bytes that are no UTF-8, so that the file can't be opened.`)
        : new FileError('missing', `There is no file ${called}.`);
    case 'EISDIR': return new FileError('folder', `${called} is a folder.`);
    // The code for opening a socket.
    case 'ENXIO': case 'EOPNOTSUPP': return new FileError('not regular', `${called} is not a regular file but a socket.`);
    // Where links are not followed, the code for a link (some systems say EMLINK).
    case 'ELOOP': case 'EMLINK': return followLinks
      ? new FileError('endless link', `${called} is a link that leads in a circle.`)
      : new FileError('link', `${called} is a link, and links are not followed here.`);
    case 'ENAMETOOLONG':
      return new FileError('name too long', `The name ${called.slice(0, LONGEST_SHOWN)}… is too long for this system.`);
    case 'EACCES': case 'EPERM': return new FileError('not permitted', `${called} may not be read by this user.`);
    default: return new FileError('failed', `${called} can't be read (${code || String(error)}).`);
  }
}

/** Characters shown of a name that is too long. */
const LONGEST_SHOWN = 80;
