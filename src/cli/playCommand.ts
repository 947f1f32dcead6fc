import { PolewardError } from '../error.js';
import { decimalNumber } from '../frames/decimalText.js';
import type { KnobTurned } from '../knobs/learnedKnobs.js';
import { parseTurned } from '../knobs/parseTurned.js';

/** What a line of a practice night asks for. */
export type PlayCommand =
  | { readonly does: 'knob'; readonly turned: KnobTurned }
  /** About the right-ascension axis, west positive. */
  | { readonly does: 'slew'; readonly degrees: number }
  | { readonly does: 'frame' | 'answer' | 'truth' | 'help' | 'end' };

const WORDS = ['azimuth', 'altitude', 'slew', 'frame', 'answer', 'truth', 'help', 'end'] as const;

/** At most 60 columns. */
export const PLAY_HELP = [
  'azimuth TURNS   turn that knob, clockwise positive: 0.5',
  'altitude TURNS  likewise: -1/4',
  'slew DEGREES    turn in right ascension, west positive',
  'frame           save a frame and see what it shows',
  'answer          see the last answer again',
  'truth           give up: see what is hidden',
  'help            see these words again',
  'end             end the night; so does Ctrl-C',
  'Words may be shortened: az 0.5, s 35, f.',
].join('\n');

/** A slew that is no mistake, degrees. */
const MOST_SLEW = 360;

/** What a line asks for; null for an empty one. Throws PolewardError `bad-option` where that can't be told. */
export function playCommand(line: string): PlayCommand | null {
  const [, said = '', rest = ''] = /^\s*([^\s=]*)[\s=]*(.*?)\s*$/.exec(line)!;
  if (said === '' && rest === '') return null;
  const meant = WORDS.filter((word) => word === said.toLowerCase() || (said !== '' && word.startsWith(said.toLowerCase())));
  const [word] = meant;
  if (word === undefined || meant.length > 1) {
    throw new PolewardError('bad-option', `"${said}" ${meant.length > 1 ? `may be ${meant.join(' or ')}` : 'is not a word here'}`
      + `. Write one of ${WORDS.join(', ')}.`);
  }
  switch (word) {
    case 'azimuth': case 'altitude': return { does: 'knob', turned: parseTurned([`${word}=${rest}`])[0]! };
    case 'slew': return { does: 'slew', degrees: slewDegrees(rest) };
  }
  if (rest !== '') throw new PolewardError('bad-option', `"${word}" takes nothing after it. Write it alone.`);
  return { does: word };
}

function slewDegrees(text: string): number {
  const degrees = decimalNumber(text.replace(/°$/, '').replace(/^−/, '-'));
  if (!(Math.abs(degrees) <= MOST_SLEW)) {
    throw new PolewardError('bad-option', `"${text}" is not an angle of a slew. Write degrees, west positive, like slew 30.`);
  }
  return degrees;
}
