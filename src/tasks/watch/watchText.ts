import { fileName } from '../../fileName.js';
import { printable } from '../../printable.js';
import { type HappenedBefore, happenedWords } from '../../night/happenings.js';
import type { WhatIsSaid } from '../../night/said.js';
import type { Guidance } from '../measure/guidance.js';
import { type TextStyle, answerText, cautionsText, whyText } from '../measure/measurementText.js';
import type { Measured } from '../measure/measureFrames.js';
import type { StandingAnswer } from '../measure/standingAnswer.js';
import { wrap } from '../words/numberWords.js';

/** "21:14:05 frame-7.fits: the axis moved 11.00′ down" */
export function leadText(utc: string, file: string, happened: HappenedBefore, width: number): string {
  return wrap(`${utc.slice(11, 19)} ${printable(fileName(file))}: ${happenedWords(happened)}`, width, '  ');
}

/** One block for one frame: time and name, then what every front says. */
export function newFrameText(lead: string, measured: Measured, guidance: Guidance, said: WhatIsSaid, style: TextStyle): string {
  return [lead, answerText(measured, said, style), whyText(guidance, style.width, style.full), cautionsText(guidance, style.width)].filter(
    (part) => part !== '',
  ).join('\n\n');
}

/** A frame that gives no answer yet. `about`: what it shows nevertheless; may be empty. */
export function nothingYetText(lead: string, about: string, next: string, width: number): string {
  return [lead, wrap(about, width, '  '), wrap(`next: ${next}`, width, '  ')].filter((part) => part !== '').join('\n\n');
}

/** What a watch found when it began. */
export interface FoundAtStart {
  readonly folder: string;
  /** Frames in the folder, and looks of them in the night's record. */
  readonly frames: number;
  readonly looks: number;
  /** Last look of the record, ISO UTC; null without one. */
  readonly lastUtc: string | null;
  /** The frames that are there already are taken too. */
  readonly all: boolean;
}

/**
 * What the watch found in the folder, and what to do.
 *
 * @param answer what the record says of its last look; null where it holds no answer: then `next` is what to do
 */
export function greetingText(
  { folder, frames, looks, lastUtc, all }: FoundAtStart, answer: StandingAnswer | null, next: string, style: TextStyle,
): string {
  const { width } = style;
  const there = frames === 0 ? 'no frames yet' : `${frames} frame${frames === 1 ? '' : 's'} there already${all ? ', taken now' : ''}`;
  const known = looks === 0 ? '' : `The record of this night holds ${looks} look${looks === 1 ? '' : 's'}, the last of `
    + `${lastUtc!.slice(11, 16)} UTC.`;
  const found = [`watching ${folder}: ${there}`, known].filter((line) => line !== '').map((line) => wrap(line, width, '  ')).join('\n');
  return answer ? `${found}\n\n${answerText(answer, answer.said, style)}` : `${found}\n${wrap(`next: ${next}`, width, '  ')}`;
}
