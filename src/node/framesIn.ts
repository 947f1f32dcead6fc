import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { PolewardError } from '../error.js';
import { hasFrameEnding } from '../frames/frameEndings.js';
import { printable } from '../printable.js';

/**
 * The files that a person named; a folder stands for the frames in it, in the order of their names. A folder named among files stays in the
 * list, and is later refused as not a frame.
 *
 * @throws PolewardError `too-few-frames` where a folder has no frame
 */
export function framesIn(paths: readonly string[]): string[] {
  if (!paths.every((path) => statSync(path, { throwIfNoEntry: false })?.isDirectory())) return [...paths];
  return paths.flatMap((folder) => {
    const frames = entriesOf(folder).filter((name) => !name.startsWith('.') && hasFrameEnding(name))
      .sort((a, b) => a.localeCompare(b, 'en', { numeric: true })).map((name) => join(folder, name));
    if (frames.length > 0) return frames;
    throw new PolewardError(
      'too-few-frames', `There are no frames in the folder ${printable(folder)}. Name the one that they are saved in.`,
    );
  });
}

function entriesOf(folder: string): string[] {
  try {
    return readdirSync(folder, { withFileTypes: true }).filter((entry) => entry.isFile() || entry.isSymbolicLink()).map(({ name }) => name);
  } catch {
    throw new PolewardError('file-unreadable', `The folder ${printable(folder)} can't be read. Check its permissions.`);
  }
}
