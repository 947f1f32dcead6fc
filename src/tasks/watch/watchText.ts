import { fileName } from '../../fileName.js';
import { printable } from '../../printable.js';
import { type HappenedBefore, happenedWords } from '../../night/happenings.js';
import type { WhatIsSaid } from '../../night/said.js';
import type { Guidance } from '../measure/guidance.js';
import { type TextStyle, answerText, cautionsText, whyText } from '../measure/measurementText.js';
import type { Measured } from '../measure/measureFrames.js';
import { wrap } from '../words/numberWords.js';

/** "21:14:05 frame-7.fits: the axis moved 11.00′ down" */
export function leadText(utc: string, file: string, happened: HappenedBefore, width: number): string {
  return wrap(`${utc.slice(11, 19)} ${printable(fileName(file))}: ${happenedWords(happened)}`, width, '  ');
}

/** One block for one frame: time and name, then what every front says. */
export function newFrameText(lead: string, measured: Measured, guidance: Guidance, said: WhatIsSaid, style: TextStyle): string {
  return [lead, answerText(measured, said, style), whyText(guidance, style.width), cautionsText(guidance, style.width)].filter(
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
  /** How far off the axis was at that look, "3.21′ off"; null where it was unknown. */
  readonly off: string | null;
  /** The frames that are there already are taken too. */
  readonly all: boolean;
  readonly next: string;
}

/** What the watch found in the folder, and what to do. */
export function greetingText({ folder, frames, looks, lastUtc, off, all, next }: FoundAtStart, width: number): string {
  const there = frames === 0 ? 'no frames yet' : `${frames} frame${frames === 1 ? '' : 's'} there already${all ? ', taken now' : ''}`;
  const known = looks === 0 ? '' : `The record of this night holds ${looks} look${looks === 1 ? '' : 's'}, the last of `
    + `${lastUtc!.slice(11, 16)} UTC${off === null ? '' : `: ${off}`}.`;
  return [
    wrap(`watching ${folder}: ${there}`, width, '  '), ...(known === '' ? [] : [wrap(known, width, '  ')]), wrap(`next: `
      + `${next}`, width, '  '),
  ].join('\n');
}
