import { type Optics, type StudyNight, studyNight } from './nights.js';

/** One kind of night of the study. */
export interface NightClass {
  readonly optics: Optics;
  readonly frames: number;
  readonly totalTurnDeg: number;
}

/** Every kind: optics, number of frames, turn in all. */
export const CLASSES: readonly NightClass[] = (['guide scope', 'telescope', 'lens'] as const).flatMap((optics) =>
  [2, 3, 5].flatMap((frames) => [10, 90].map((totalTurnDeg) => ({ optics, frames, totalTurnDeg }))));

/** Night n of a class; numbers don't overlap between classes. */
export function nightOf(index: number, n: number): StudyNight {
  return studyNight(100_000 + index * 10_000 + n, CLASSES[index]);
}
