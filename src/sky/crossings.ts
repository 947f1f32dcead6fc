/** A stretch of time; an end outside the time that was searched is null. */
export interface Stretch {
  readonly from: Date | null;
  readonly to: Date | null;
}

/** Time steps of the search: a shorter stretch may be missed. */
const STEP_MS = 10 * 60_000;
/** The ends are found to this precision. */
const SETTLED_MS = 500;

/**
 * When a smooth quantity is below zero between two times, stretch after stretch. Dips of less than ten minutes may be missed.
 *
 * @param value of the time
 */
export function stretchesBelow(value: (time: Date) => number, begin: Date, end: Date): Stretch[] {
  const found: { from: Date | null; to: Date | null }[] = [];
  const steps = Math.max(1, Math.ceil((end.getTime() - begin.getTime()) / STEP_MS));
  const at = (i: number): number => begin.getTime() + ((end.getTime() - begin.getTime()) * i) / steps;
  let below = value(begin) < 0;
  if (below) found.push({ from: null, to: null });
  for (let i = 1; i <= steps; i++) {
    const now = value(new Date(at(i))) < 0;
    if (now === below) continue;
    const crossing = bisect(value, at(i - 1), at(i), now);
    if (now) found.push({ from: crossing, to: null });
    else found.at(-1)!.to = crossing;
    below = now;
  }
  return found;
}

/** Where the value changes sign between two times; `falls`: to below zero. */
function bisect(value: (time: Date) => number, from: number, to: number, falls: boolean): Date {
  let low = from;
  let high = to;
  while (high - low > SETTLED_MS) {
    const middle = (low + high) / 2;
    if (value(new Date(middle)) < 0 === falls) high = middle;
    else low = middle;
  }
  return new Date(Math.round((low + high) / 2));
}
