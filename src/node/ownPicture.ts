import { lookMarkIn } from '../picture/lookMark.js';
import { FileError, readRegularFile } from './regularFile.js';

/** No picture of ours is larger. */
const MOST_BYTES = 1 << 26;

/** The mark of the look from which this program drew a picture file; null for any other file, and for none. */
export function lookOfPicture(path: string): string | null {
  try {
    return lookMarkIn(readRegularFile(path, MOST_BYTES).toString('latin1'));
  } catch (error) {
    if (error instanceof FileError) return null;
    throw error;
  }
}
