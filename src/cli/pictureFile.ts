import { extname, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { readFrame } from '../node/readFrame.js';
import { ARCMINUTE } from '../geometry/angle.js';
import { encodeCells } from '../picture/encodeCells.js';
import { frameCells } from '../picture/frameCells.js';
import type { FrameMarks } from '../picture/frameMarks.js';
import { DARK_INKS, RED_INKS } from '../picture/inks.js';
import { FOOT_WIDTH, WORDS_WIDTH, pictureSheet } from '../picture/pictureSheet.js';
import type { CommonOptions } from './commonOptions.js';
import type { Measured } from './measureFrames.js';
import { arcminutes, plusMinus, wrap } from './numberWords.js';
import { say } from './output.js';
import type { PictureOptions } from './pictureOptions.js';
import { checkWritable, writeWhole } from './wholeFile.js';

/** Cells along the longer side of the frame in a picture. */
const MOST_CELLS = 1400;

/** Refuses, before any work, a picture that can't be made. Throws PolewardError `bad-option`. */
export function checkPicture({ picture, pictureStar, overwrite }: PictureOptions, frames: readonly string[]): void {
  if (picture === undefined) {
    if (pictureStar !== undefined) throw new PolewardError('bad-option', '--picture-star chooses a star for the picture, but no picture is asked for. Add --picture FILE.');
    return;
  }
  if (!/^\.(svg|png)$/i.test(extname(picture))) throw new PolewardError('bad-option', `The picture ${picture} has an ending this program does not write. Give it .svg or .png.`);
  if (frames.some((frame) => resolve(frame) === resolve(picture))) throw new PolewardError('bad-option', `The picture ${picture} would replace a frame. Give it another name.`);
  checkWritable(picture, overwrite ?? false);
}

/** Draws the newest frame of an answer, writes the picture and says so. Throws PolewardError `bad-option` if it can't be written. */
export async function showPicture({ known }: Measured, marks: FrameMarks, options: PictureOptions & CommonOptions): Promise<void> {
  await writePicture(known.at(-1)!.frame.file, marks, options);
  if (!options.json) say(`\npicture written to ${options.picture!}`, options.night ?? false);
}

async function writePicture(file: string, marks: FrameMarks, options: PictureOptions & CommonOptions): Promise<void> {
  const night = options.night ?? false;
  const frame = await readFrame(file);
  const backdrop = await encodeCells(frameCells(frame.image, MOST_CELLS, frame.firstRowBottom, frame.pixelOffset), night);
  const svg = pictureSheet({
    marks, backdrop, headline: headline(marks), words: wordsFor(marks), foot: footFor(marks),
  }, night ? RED_INKS : DARK_INKS);
  const path = options.picture!;
  if (/\.svg$/i.test(path)) {
    writeWhole(path, svg, options.overwrite ?? false);
    return;
  }
  const { svgToPng } = await import('../node/sharpLoaders.js');
  writeWhole(path, await svgToPng(svg), options.overwrite ?? false);
}

function headline({ separationArcmin, sigmaArcmin, aim }: FrameMarks): string {
  return `${arcminutes(separationArcmin * ARCMINUTE, sigmaArcmin * ARCMINUTE)} off the ${aim} pole ${plusMinus(sigmaArcmin * ARCMINUTE)}`;
}

/** Each dial's sentences in lines. */
function wordsFor({ dials }: FrameMarks): string[][] {
  if (dials.length === 0) return [wrap('The site is unknown, so the knobs are too. Give --latitude and --longitude.', WORDS_WIDTH).split('\n')];
  return dials.map(({ words }) => wrap(words, WORDS_WIDTH).split('\n'));
}

/** What one must know to read the frame. */
function footFor(marks: FrameMarks): string[] {
  const { file, utc, identified, scaleArcsecPerPixel, star } = marks;
  const sentences = [
    `${file}, ${utc.slice(0, 10)} ${utc.slice(11, 19)} UTC; ${identified} recognised stars; ${scaleArcsecPerPixel.toPrecision(4)}″ a pixel.`,
    ...(marks.path.some((leg) => leg.knob !== null) ? ['Dashed: by the azimuth knob; drawn through: by the altitude knob.'] : []),
    ...(star ? ['at' in star.goal
      ? `Turn until ${star.name} stands in the dashed ring. The goal holds for this moment, and as long as the drive follows the stars; without a drive they go on about the pole, 15° an hour.`
      : `${star.name} will leave the frame. Choose a star that stays with --picture-star.`] : []),
  ];
  return sentences.flatMap((sentence) => wrap(sentence, FOOT_WIDTH).split('\n'));
}
