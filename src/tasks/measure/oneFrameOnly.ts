import { PolewardError } from '../../error.js';
import { aboutFrame } from '../words/whereText.js';
import type { SeenFrames } from './seeFrames.js';

/** Why one frame is not enough, and what it shows all the same; what is wrong with it, if it can't be used at all. */
export function oneFrameOnly({ known, outcomes }: Pick<SeenFrames, 'known' | 'outcomes'>): PolewardError {
  const trouble = outcomes[0]?.trouble;
  if (trouble) return new PolewardError(trouble.code, trouble.message, trouble.remedies ? { remedies: trouble.remedies } : {});
  const shown = known[0] ? ` ${aboutFrame(known[0])}`.trimEnd() : '';
  return new PolewardError('too-few-frames',
    `One frame alone does not show the axis. Give two or more, with the mount turned in right ascension between them.${shown}`);
}
