/** A line that shows the progress of long work, on a terminal only; it is removed before anything else is written. */

/** What decides whether progress is shown: where stderr goes, what terminal it is, how long the process runs (ms). */
export interface ProgressPlace {
  readonly isTerminal: boolean;
  readonly terminal: string | undefined;
  readonly runningMs: number;
}

/** Work that is done sooner shows no progress, ms: the line would only flicker. */
const PATIENCE_MS = 600;
const DIM_RED = '\u001b[2;31m';
const PLAIN = '\u001b[0m';
const CLEAR_LINE = '\r\u001b[2K';
const WIDTH = 60;

let night = false;
let shown = false;

/** Whether a line of progress helps a person: never in a file or pipe, nor on a terminal that can't erase it. */
export function showsProgress({ isTerminal, terminal, runningMs }: ProgressPlace): boolean {
  return isTerminal && terminal !== 'dumb' && runningMs >= PATIENCE_MS;
}

/** "looking for stars: 2 of 3", at most 60 columns. */
export function progressLine(what: string, done: number, of: number): string {
  return `${what}: ${done} of ${of}`.slice(0, WIDTH);
}

/** From now on in dim red. */
export function progressInRed(): void {
  night = true;
}

/** Shows how far the work is. */
export function progress(what: string, done: number, of: number): void {
  const place = { isTerminal: process.stderr.isTTY === true, terminal: process.env['TERM'], runningMs: performance.now() };
  if (!showsProgress(place)) return;
  const line = progressLine(what, done, of);
  process.stderr.write(`${CLEAR_LINE}${night ? `${DIM_RED}${line}${PLAIN}` : line}`);
  shown = true;
}

/** Takes the line back, before anything else is written. */
export function endProgress(): void {
  if (!shown) return;
  process.stderr.write(CLEAR_LINE);
  shown = false;
}
