import { extname, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { readFrame } from '../node/readFrame.js';
import { encodeJpeg, pngOf } from '../node/encodePicture.js';
import { lookOfPicture } from '../node/ownPicture.js';
import { checkWritable, writeWhole } from '../node/wholeFile.js';
import type { FrameMarks } from '../picture/frameMarks.js';
import { isLookAt, lookMark } from '../picture/lookMark.js';
import { answerPicture } from '../tasks/measure/answerPicture.js';
import type { Measured } from '../tasks/measure/measureFrames.js';
import type { CommonOptions } from './commonOptions.js';
import { say } from './output.js';
import type { PictureOptions } from './pictureOptions.js';

/** Refuses a picture that can't be made, before any work. Throws PolewardError `bad-option`. */
export function checkPicture({ picture, pictureStar, overwrite }: PictureOptions, frames: readonly string[]): void {
  if (picture === undefined) {
    if (pictureStar !== undefined) throw new PolewardError('bad-option', '--picture-star chooses a star for the picture, but no '
      + 'picture is asked for. Add --picture FILE.');
    return;
  }
  if (!/^\.(svg|png)$/i.test(extname(picture))) throw new PolewardError('bad-option', `The picture ${picture} has an ending this `
    + `program does not write. Give it .svg or .png.`);
  if (frames.some((frame) => resolve(frame) === resolve(picture))) throw new PolewardError('bad-option', `The picture ${picture} `
    + `would replace a frame. Give it another name.`);
  const own = lookOfPicture(picture);
  checkWritable(picture, (overwrite ?? false) || (own !== null && frames.some((frame) => isLookAt(own, frame))));
}

/** Draws the newest frame of an answer, writes the picture and says so. Throws PolewardError `bad-option` if it can't be written. */
export async function showPicture({ known }: Measured, marks: FrameMarks, options: PictureOptions & CommonOptions): Promise<void> {
  const night = options.night ?? false;
  const path = options.picture!;
  const svg = await answerPicture(await readFrame(known.at(-1)!.frame.file), marks, night, encodeJpeg);
  // The same command may replace its own picture, and no other file.
  const replace = (options.overwrite ?? false) || lookOfPicture(path) === lookMark(marks);
  writeWhole(path, /\.svg$/i.test(path) ? svg : await pngOf(svg), replace);
  if (!options.json) say(`\npicture written to ${path}`, night);
}
