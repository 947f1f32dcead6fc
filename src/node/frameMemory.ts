import { statSync } from 'node:fs';
import { pictureMemory } from '../stars/kernel/quickPixels.js';

/** Larger files are read into memory of their own. */
const MOST = 2 ** 30;

/**
 * Memory for the next frame: that of the frame before, or larger, so that its stars can be searched where it was read. Frames that are used
 * one after the other share it: new memory can take longer to get than reading the file.
 */
export function frameMemory(file: string, before: Buffer | undefined): Buffer | undefined {
  const size = sizeOf(file);
  if (size <= (before?.length ?? 0) || size >= MOST) return before;
  const { buffer, byteOffset } = pictureMemory(size);
  return Buffer.from(buffer, byteOffset, size);
}

function sizeOf(file: string): number {
  try {
    return statSync(file).size;
  } catch {
    // Reading it tells what is wrong.
    return 0;
  }
}
