import { type DrawnFrame, frameDrawing, shownHeight } from './frameDrawing.js';
import type { Inks } from './inks.js';
import { DIAL_SIDE, knobDial } from './knobDial.js';
import { lookMark } from './lookMark.js';
import { element, escaped } from './markup.js';

/** A picture for one answer: the instructions for the hands at the left, the camera's view at the right. */
export interface PictureSheet extends Pick<DrawnFrame, 'marks' | 'backdrop'> {
  /** How far off, how sure: one line. */
  readonly headline: string;
  /** For each dial of the marks, or without dials once: lines of at most {@link WORDS_WIDTH} letters. */
  readonly words: readonly (readonly string[])[];
  /** Under the frame: when, how many stars, what to note. Lines of at most {@link FOOT_WIDTH} letters. */
  readonly foot: readonly string[];
}

export const WORDS_WIDTH = 40;
export const FOOT_WIDTH = 110;

const MARGIN = 24;
const HANDS_WIDTH = 400;
const HEAD = 64;
const DIAL = 1.35 * DIAL_SIDE;
const LINE = 21;
/** The frame takes what it needs of this width. */
const FRAME = { width: 1080, height: 860 } as const;

/** The picture as an SVG file that needs nothing else. */
export function pictureSheet(sheet: PictureSheet, inks: Inks): string {
  const { marks } = sheet;
  const frameWidth = Math.min(FRAME.width, (FRAME.height * marks.width) / marks.height);
  const frame = { ...sheet, width: frameWidth };
  const left = 2 * MARGIN + HANDS_WIDTH;
  const frameBottom = HEAD + shownHeight(frame);
  const hands = handsColumn(sheet, inks);
  const footTop = frameBottom + 26;
  const footLeft = left;
  const width = left + Math.max(frameWidth, 700) + MARGIN;
  const height = Math.max(hands.bottom, footTop + sheet.foot.length * LINE) + MARGIN;
  return `<?xml version="1.0" encoding="UTF-8"?>\n${element('svg', {
    xmlns: 'http://www.w3.org/2000/svg', viewBox: `0 0 ${Math.ceil(width)} ${Math.ceil(height)}`,
    width: Math.ceil(width), height: Math.ceil(height), 'data-look': lookMark(marks),
  },
  element('title', {}, escaped(sheet.headline)),
  element('rect', { width: Math.ceil(width), height: Math.ceil(height), fill: inks.ground }),
  text(MARGIN, 42, 28, inks.text, sheet.headline, true),
  hands.markup,
  frameDrawing(frame, inks, { x: left, y: HEAD }),
  ...sheet.foot.map((line, i) => text(footLeft, footTop + i * LINE, 15, inks.text, line)),
  )}\n`;
}

/** Dials one above the other, azimuth first, each with its sentences below. */
function handsColumn({ marks, words }: PictureSheet, inks: Inks): { markup: string; bottom: number } {
  let y = HEAD;
  const parts: string[] = [];
  const sentences = (lines: readonly string[]): void => {
    for (const line of lines) {
      parts.push(text(MARGIN, y, 17, inks.text, line));
      y += LINE;
    }
    y += LINE;
  };
  marks.dials.forEach((dial, i) => {
    parts.push(text(MARGIN, y + 18, 20, inks.dial.turn, dial.name, true));
    parts.push(knobDial(dial, inks.dial, { size: DIAL, x: MARGIN + (HANDS_WIDTH - DIAL) / 2, y }));
    y += DIAL + 26;
    sentences(words[i] ?? []);
  });
  if (marks.dials.length === 0) {
    y += LINE;
    sentences(words[0] ?? []);
  }
  return { markup: parts.join(''), bottom: y };
}

function text(x: number, y: number, size: number, ink: string, words: string, bold = false): string {
  return element(
    'text', { x, y, 'font-size': size, 'font-weight': bold ? 'bold' : null, 'font-family': 'sans-serif', fill: ink }, escaped(words),
  );
}
