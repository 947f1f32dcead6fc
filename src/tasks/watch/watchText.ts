import type { RemedyWords } from '../../remedy.js';
import type { Guidance } from '../measure/guidance.js';
import { cautionsText, ordersText, sureText, whyText } from '../measure/measurementText.js';
import type { Measured } from '../measure/measureFrames.js';
import { wrap } from '../words/numberWords.js';
import type { Taken } from './watchState.js';

const TAKEN: Readonly<Record<Taken, string>> = {
  first: 'taken as the first of a measurement: turn the mount by 30° or more in right ascension, save another',
  'begun-anew': 'of another camera, binning or night than the frame before, so a measurement begins anew with it: turn the mount by 30° or more in right ascension, save another',
  'not-turned': 'the mount was not turned since the frame before: turn it in right ascension, save another',
  rotated: 'taken as turned in right ascension: it joins the measurement',
  adjusted: 'taken as a knob turned',
  unchanged: 'nothing has moved since',
  'moved-and-turned': 'the axis moved and the mount was turned, so a new measurement begins here: turn in right ascension only, save another',
};

/** One block for one frame: what to do, how far off, how sure, and what the frame was taken for. */
export function newFrameText(name: string, taken: Taken, measured: Measured, guidance: Guidance, words: RemedyWords): string {
  return [
    ordersText(measured.measurement, guidance, words), sureText(measured.measurement), whyText(guidance),
    wrap(`${name}: ${TAKEN[taken]}`, 60, '  '), cautionsText(guidance),
  ].filter((part) => part !== '').join('\n');
}

/** What a frame that gives no answer yet was taken for. */
export function nothingYetText(name: string, taken: Taken): string {
  return wrap(`${name}: ${TAKEN[taken]}`, 60, '  ');
}
