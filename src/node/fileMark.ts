import { createHash } from 'node:crypto';
import type { Stats } from 'node:fs';
import type { FileHandle } from 'node:fs/promises';
import { FileError, openRegular } from './regularFile.js';

/** The parts of a file that are compared to see whether it has changed: size, time, and samples of its content, with its end. */
export interface FileMark {
  readonly stamp: string;
  /** Digest of the samples. */
  readonly content: string;
}

const TAIL_BYTES = 65_536;
const SAMPLE_BYTES = 4096;
const SAMPLES = 24;

/** Size and time of a file as one text. */
export function stampOf({ size, mtimeMs }: Pick<Stats, 'size' | 'mtimeMs'>): string {
  return `${size} ${mtimeMs}`;
}

/**
 * The mark of a regular file; null where it can't be opened. Content counts because a file written through a memory map, or on a disk whose
 * times have steps of two seconds, may keep size and time.
 */
export async function fileMark(path: string): Promise<FileMark | null> {
  let handle: FileHandle | null = null;
  try {
    const file = await openRegular(path);
    handle = file.handle;
    const digest = createHash('sha256');
    const add = async (from: number, length: number): Promise<void> => {
      const { bytesRead, buffer } = await file.handle.read(Buffer.alloc(length), 0, length, from);
      digest.update(buffer.subarray(0, bytesRead));
    };
    for (let i = 0; i < SAMPLES; i++) await add(Math.floor(i * file.size / SAMPLES), SAMPLE_BYTES);
    await add(Math.max(0, file.size - TAIL_BYTES), TAIL_BYTES);
    return { stamp: stampOf({ size: file.size, mtimeMs: file.modifiedMs }), content: digest.digest('base64') };
  } catch (error) {
    if (error instanceof FileError || (error instanceof Error && 'code' in error)) return null;
    throw error;
  } finally {
    await handle?.close();
  }
}

/** Whether two marks are of the same file, unchanged. */
export function sameMark(a: FileMark | null, b: FileMark | null): boolean {
  return a?.stamp === b?.stamp && a?.content === b?.content;
}
