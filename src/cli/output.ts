import { printable } from '../printable.js';
import { endProgress } from './progress.js';

/** Where text for people goes: results to stdout, warnings and errors to stderr; with `night`, dim red. */
const DIM_RED = '\u001b[2;31m';
const PLAIN = '\u001b[0m';

export function say(text: string, night: boolean): void {
  endProgress();
  process.stdout.write(`${coloured(text, night)}\n`);
}

export function warn(text: string, night: boolean): void {
  endProgress();
  process.stderr.write(`${coloured(text, night)}\n`);
}

/** Nothing in it steers the terminal or is unseen, wherever it came from (a file's name, a header), but the ends of lines. */
function coloured(text: string, night: boolean): string {
  const shown = text.split('\n').map((line) => printable(line)).join('\n');
  return night ? `${DIM_RED}${shown}${PLAIN}` : shown;
}

/** JSON in which what steers a terminal or is unseen is written as an escape, so that it means the same and shows. */
function json(value: unknown, indent?: number): string {
  return JSON.stringify(value, null, indent).replace(UNSEEN, (c) => {
    return Array.from({ length: c.length }, (_, i) => `\\u${c.charCodeAt(i).toString(16).padStart(4, '0')}`).join('');
  });
}

/** But the ends of lines, which only stand between the parts. */
const UNSEEN = /[\u007f-\u009f\p{Cf}\p{Zl}\p{Zp}\u115F\u1160\u3164\uFFA0]/gu;

export function sayJson(value: unknown): void {
  endProgress();
  process.stdout.write(`${json(value, 2)}\n`);
}

/** One JSON value a line, for programs that follow along. */
export function sayLine(value: unknown): void {
  endProgress();
  process.stdout.write(`${json(value)}\n`);
}

/** Columns for text: the terminal's, 80 at most; 60 where there is none. */
export function textWidth(): number {
  const { isTTY, columns } = process.stdout;
  return isTTY && columns > 0 ? Math.max(40, Math.min(80, columns)) : 60;
}
