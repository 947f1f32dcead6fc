import { PolewardError } from '../error.js';
import type { DecodeFrameOptions } from '../frames/decodeFrame.js';
import { readFrame } from './readFrame.js';
import { type FrameTrouble, type Progress, troubleOf } from '../tasks/recognise/frameStars.js';
import { type ShapedFrame, shapedFrame } from '../tasks/verify/shapedFrame.js';
import { breathe } from './breathe.js';

/** Reads each frame, its stars and their shapes. Errors of a frame that a person can correct are returned as trouble, not thrown. */
export async function shapedFiles(
  files: readonly string[], clock: DecodeFrameOptions, progress: Progress,
): Promise<(ShapedFrame | FrameTrouble)[]> {
  const found: (ShapedFrame | FrameTrouble)[] = [];
  for (const [i, file] of files.entries()) {
    progress('frames read', i, files.length);
    await breathe();
    try {
      found.push(shapedFrame(await readFrame(file, clock)));
    } catch (error) {
      if (!(error instanceof PolewardError)) throw error;
      found.push(troubleOf(file, error));
    }
  }
  return found;
}
