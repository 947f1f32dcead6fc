import type { Frame } from '../../frames/frame.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import { angleWords, plusMinus } from '../../geometry/angleWords.js';
import { type EncodeJpeg, encodeCells } from '../../picture/encodeCells.js';
import { frameCells } from '../../picture/frameCells.js';
import type { FrameMarks } from '../../picture/frameMarks.js';
import { DARK_INKS, RED_INKS } from '../../picture/inks.js';
import { FOOT_WIDTH, WORDS_WIDTH, pictureSheet } from '../../picture/pictureSheet.js';
import { wrap } from '../words/numberWords.js';

/** Cells along the longer side of the frame in a picture. */
const MOST_CELLS = 1400;

/** The newest frame of an answer with axis, pole, a star's goal and both knobs, as SVG. `night`: dim red. */
export async function answerPicture(frame: Frame, marks: FrameMarks, night: boolean, encode: EncodeJpeg): Promise<string> {
  const backdrop = await encodeCells(frameCells(frame.image, MOST_CELLS, frame.firstRowBottom, frame.pixelOffset), night, encode);
  return pictureSheet({
    marks, backdrop, headline: headline(marks), words: wordsFor(marks), foot: footFor(marks),
  }, night ? RED_INKS : DARK_INKS);
}

function headline({ separationArcmin, sigmaArcmin, aim }: FrameMarks): string {
  return `${angleWords(separationArcmin * ARCMINUTE, sigmaArcmin * ARCMINUTE)} off the ${aim} pole ${plusMinus(sigmaArcmin * ARCMINUTE)}`;
}

/** The sentences of each dial, in lines. */
function wordsFor({ dials }: FrameMarks): string[][] {
  if (dials.length === 0) return [wrap('The site is unknown, so the knobs are too. Give latitude and longitude.', WORDS_WIDTH).split('\n')];
  return dials.map(({ words }) => wrap(words, WORDS_WIDTH).split('\n'));
}

/** What is needed to understand the picture. */
function footFor(marks: FrameMarks): string[] {
  const { file, utc, identified, scaleArcsecPerPixel, star } = marks;
  const sentences = [
    `${file}, ${utc.slice(0, 10)} ${utc.slice(11, 19)} UTC; ${identified} recognised stars; ${scaleArcsecPerPixel.toPrecision(4)}″ a `
      + `pixel.`,
    ...(marks.path.some((leg) => leg.knob !== null) ? ['Dashed: by the azimuth knob; solid: by the altitude knob.'] : []),
    ...(star ? ['at' in star.goal
      ? `Turn until ${star.name} stands in the dashed ring. The goal is right for this moment, and for as long as the drive follows the `
        + `stars. Without a drive they move on about the pole, 15° an hour.`
      : `${star.name} will leave the frame. Choose a star that stays.`] : []),
  ];
  return sentences.flatMap((sentence) => wrap(sentence, FOOT_WIDTH).split('\n'));
}
