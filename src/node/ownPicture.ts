import { lookMarkIn } from '../picture/lookMark.js';
import { FileError, readRegularFile } from './regularFile.js';

/** More than any picture of ours has. */
const MOST_BYTES = 1 << 26;

/** The mark of the look that a picture file of this program's was drawn of; null for any other file, and for none. */
export function lookOfPicture(path: string): string | null {
  try {
    return lookMarkIn(readRegularFile(path, MOST_BYTES).toString('latin1'));
  } catch (error) {
    if (error instanceof FileError) return null;
    throw error;
  }
}
