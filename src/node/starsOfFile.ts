import { PolewardError } from '../error.js';
import { readFrame, type ReadFrameOptions } from './readFrame.js';
import { type FrameResult, starsOfFrame, troubleOf } from '../tasks/recognise/frameStars.js';

/** Reads one frame and lists its stars. Errors that a person can correct are returned as trouble, not thrown. */
export async function starsOfFile(file: string, options: ReadFrameOptions): Promise<FrameResult> {
  try {
    return starsOfFrame(await readFrame(file, options));
  } catch (error) {
    if (error instanceof PolewardError) return troubleOf(file, error);
    throw error;
  }
}
