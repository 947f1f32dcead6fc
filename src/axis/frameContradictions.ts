import { apartWords } from '../frames/clockDoubts.js';
import type { TimedFrame } from './frameTime.js';
import type { Warning } from './warning.js';

/** Exposures may overlap by this much before they contradict their times, milliseconds: clocks that show whole seconds. */
const OVERLAP_MS = 1500;
const DAY_MS = 86_400_000;
const YEAR_MS = 365.25 * DAY_MS;
/** Frames older than this more likely come from a clock that was never set, years: cameras begin at such dates. */
const OLD_YEARS = 15;
/** Frames further ahead of the computer's date than this have a wrong year, or the computer has. */
const AHEAD_MS = 360 * DAY_MS;
/** How far the pole moves among the stars in a year, arcminutes: general precession in declination (IAU 2006), 20.04″. */
const POLE_ARCMIN_A_YEAR = 0.334;

/**
 * Frames that contradict each other or the date: exposures longer than the time from one frame to the next, unlikely years.
 *
 * @param today the computer's date; null where it is not given
 */
export function frameContradictions(frames: readonly TimedFrame[], today: Date | null): Warning[] {
  return [...tooLongExposures(frames), ...strangeYear(frames, today)];
}

function tooLongExposures(frames: readonly TimedFrame[]): Warning[] {
  const inTime = [...frames].sort((a, b) => a.time.getTime() - b.time.getTime());
  for (const [i, frame] of inTime.entries()) {
    const before = inTime[i - 1];
    if (!before) continue;
    const gap = frame.time.getTime() - before.time.getTime();
    const both = (before.exposureSeconds ?? 0) * 500 + (frame.exposureSeconds ?? 0) * 500;
    if (gap === 0 || gap >= both - OVERLAP_MS) continue;
    const longest = Math.max(before.exposureSeconds ?? 0, frame.exposureSeconds ?? 0);
    const unit = gap >= both / 1000 ? ' In milliseconds it would fit.' : '';
    const late = longest * 500;
    return [{
      code: 'clock-suspect',
      message: `${frame.file} was taken ${apartWords(gap)} after ${before.file}, yet their exposures are said to be ${longest} s.${unit} `
        + `Half of it counts in the time of a frame: the times may be ${apartWords(late)} off, which turns the direction of the answer by `
        + `${degrees(late)}. Correct the exposure in the files, or give the times.`,
      remedies: ['say-time'],
    }];
  }
  return [];
}

function strangeYear(frames: readonly TimedFrame[], today: Date | null): Warning[] {
  const [first] = frames;
  if (!first || today === null) return [];
  const off = first.time.getTime() - today.getTime();
  const years = Math.abs(off) / YEAR_MS;
  if (off <= AHEAD_MS && years <= OLD_YEARS) return [];
  const apart = years < 1.5 ? `${Math.round(Math.abs(off) / DAY_MS)} days` : `${years.toFixed(0)} years`;
  const says = off > 0 ? `${apart} ahead of this computer's date` : `${apart} ago`;
  const cost = years * POLE_ARCMIN_A_YEAR;
  const places = `the pole is taken up to ${cost.toFixed(cost < 1 ? 1 : 0)}′ from where it stands`;
  return [{
    code: 'clock-suspect',
    message: `${first.file} says it was taken ${first.time.toISOString().slice(0, 10)}, ${says}. If the year is wrong, ${places} among the `
      + 'stars (20″ a year), and the date turns the direction by 1° a day. Set the camera\'s date, or give the times.',
    remedies: ['say-time'],
  }];
}

/** By how much the sky turns in this time. */
function degrees(ms: number): string {
  const angle = (ms / 240_000) % 360;
  return `${angle.toFixed(angle < 10 ? 1 : 0)}°`;
}
