import type { TimesGiven } from './timesGiven.js';

/** More frames than this hardly improve the answer, which catalogue and air then limit, and take minutes. */
export const MOST_FRAMES = 100;

/** At most {@link MOST_FRAMES} of the files, evenly spread over the list, first and last included. */
export function spreadFrames<T>(files: readonly T[]): T[] {
  if (files.length <= MOST_FRAMES) return [...files];
  return Array.from({ length: MOST_FRAMES }, (_, i) => files[Math.round((i * (files.length - 1)) / (MOST_FRAMES - 1))]!);
}

/** The times of the frames that are left. */
export function spreadTimes(given: TimesGiven | null): TimesGiven | null {
  return given && { ...given, times: spreadFrames(given.times) };
}
