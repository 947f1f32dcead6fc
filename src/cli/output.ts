import { endProgress } from './progress.js';

/** Where text for people goes: results to stdout, warnings and errors to stderr; with `night`, dim red. */
const DIM_RED = '\u001b[2;31m';
const PLAIN = '\u001b[0m';

export function say(text: string, night: boolean): void {
  endProgress();
  process.stdout.write(`${night ? `${DIM_RED}${text}${PLAIN}` : text}\n`);
}

export function warn(text: string, night: boolean): void {
  endProgress();
  process.stderr.write(`${night ? `${DIM_RED}${text}${PLAIN}` : text}\n`);
}

export function sayJson(value: unknown): void {
  endProgress();
  process.stdout.write(`${JSON.stringify(value, null, 2)}\n`);
}

/** One JSON value a line, for programs that follow along. */
export function sayLine(value: unknown): void {
  endProgress();
  process.stdout.write(`${JSON.stringify(value)}\n`);
}

/** Columns for text: the terminal's, 80 at most; 60 where there is none. */
export function textWidth(): number {
  const { isTTY, columns } = process.stdout;
  return isTTY && columns > 0 ? Math.max(40, Math.min(80, columns)) : 60;
}
