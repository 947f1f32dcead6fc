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

/** Text without characters that control the terminal or are invisible, whatever their source (a file's name, a header). Line ends stay. */
function coloured(text: string, night: boolean): string {
  const shown = text.split('\n').map((line) => printable(line)).join('\n');
  return night ? `${DIM_RED}${shown}${PLAIN}` : shown;
}

/** JSON with characters that control the terminal or are invisible written as escapes: the same value, and they can be seen. */
function json(value: unknown, indent?: number): string {
  return JSON.stringify(value, null, indent).replace(UNSEEN, (c) => {
    return Array.from({ length: c.length }, (_, i) => `\\u${c.charCodeAt(i).toString(16).padStart(4, '0')}`).join('');
  });
}

/** Line ends stay: in JSON they can only be between the parts. */
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
