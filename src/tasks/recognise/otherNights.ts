import { apartWords, clockWords } from '../../frames/clockDoubts.js';
import { BETWEEN_NIGHTS_MS } from './goesWith.js';
import type { FrameResult, FrameStars, FrameTrouble } from './frameStars.js';

const DAY_MS = 86_400_000;

type TimedStars = FrameStars & { readonly metadata: { readonly midExposure: { readonly value: Date } } };

/**
 * Frames of another night than most, by their times: the mount may have been moved in between, and a date that did not change at midnight
 * looks the same. Where no night has the most frames, those of the first night given are used and all others are in trouble.
 */
export function otherNights(results: readonly FrameResult[]): Map<FrameResult, FrameTrouble> {
  const timed = results.filter((r): r is TimedStars => 'stars' in r && r.metadata.midExposure !== null);
  const nights = nightsOf(timed);
  const found = new Map<FrameResult, FrameTrouble>();
  if (nights.length < 2) return found;
  const most = Math.max(...nights.map((night) => night.length));
  const largest = nights.filter((night) => night.length === most);
  const clear = largest.length === 1;
  const kept = clear ? largest[0]! : largest.find((night) => night.includes(timed.find((f) => largest.some((n) => n.includes(f)))!))!;
  for (const night of nights) {
    if (night === kept) continue;
    for (const frame of night) found.set(frame, { file: frame.file, code: 'other-night', message: message(frame, kept, timed) });
  }
  // Two nights with equally many frames: nothing shows which is meant.
  if (!clear) for (const frame of kept) found.set(
    frame, { file: frame.file, code: 'other-night', message: message(frame, largest.find((n) => n !== kept)!, timed) },
  );
  return found;
}

function nightsOf(frames: readonly TimedStars[]): TimedStars[][] {
  const nights: TimedStars[][] = [];
  for (const frame of [...frames].sort((a, b) => timeOf(a) - timeOf(b))) {
    const night = nights.at(-1);
    if (night && timeOf(frame) - timeOf(night.at(-1)!) < BETWEEN_NIGHTS_MS) night.push(frame);
    else nights.push([frame]);
  }
  return nights;
}

function message(frame: TimedStars, others: readonly TimedStars[], order: readonly TimedStars[]): string {
  const nearest = others.reduce((best, other) => (gap(frame, other) < gap(frame, best) ? other : best));
  const before = timeOf(frame) < timeOf(nearest);
  const says =
    `${frame.file} was taken ${clockWords(timeOf(frame))} UTC by its time, ${apartWords(gap(frame, nearest))} `
      + `${before ? 'before' : 'after'} ${nearest.file}.`;
  const todo = midnight(frame, others, order)
    ? 'If its date did not change at midnight, correct the date in the file; if it is of another night, leave it out.'
    : 'Use frames of one night; if it is of this one, the camera clock\'s date is wrong.';
  return `${says} ${todo}`;
}

/** True where adding (or subtracting) a day puts the frame among the others, at its place in the list. */
function midnight(frame: TimedStars, others: readonly TimedStars[], order: readonly TimedStars[]): boolean {
  return others.some((other) => {
    const apart = timeOf(other) - timeOf(frame);
    const moved = Math.abs(apart) - DAY_MS;
    const listedAfter = order.indexOf(frame) > order.indexOf(other);
    // One day later, it comes after the frame that it is listed after.
    return Math.abs(moved) < BETWEEN_NIGHTS_MS / 2 && (apart > 0) === listedAfter && (moved <= 0);
  });
}

function gap(a: TimedStars, b: TimedStars): number {
  return Math.abs(timeOf(a) - timeOf(b));
}

function timeOf(frame: TimedStars): number {
  return frame.metadata.midExposure.value.getTime();
}
