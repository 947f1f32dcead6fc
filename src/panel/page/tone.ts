/** One note: Hz, seconds from the start, seconds long. */
export interface Note {
  readonly hertz: number;
  readonly from: number;
  readonly lasts: number;
}

/** At the limit; each quarter of the distance is an octave higher. */
const AT_LIMIT = 880;
const LOWEST = 110;
const TROUBLE = 82.5;

/**
 * The tone of an answer: one long note, higher as the axis comes nearer; within the limit two notes more, a fifth and an octave above it,
 * so that the change is heard without comparing pitches. Trouble: two low ones.
 *
 * @param arcmin distance from the pole; null where it is not known
 */
export function notesFor(arcmin: number | null, limitArcmin: number, trouble: boolean): Note[] {
  if (trouble) return [{ hertz: TROUBLE, from: 0, lasts: 0.25 }, { hertz: TROUBLE, from: 0.35, lasts: 0.25 }];
  if (arcmin === null) return [];
  if (arcmin <= limitArcmin) {
    return [
      { hertz: AT_LIMIT, from: 0, lasts: 0.15 }, { hertz: AT_LIMIT * 1.5, from: 0.15, lasts: 0.15 },
      { hertz: AT_LIMIT * 2, from: 0.3, lasts: 0.3 },
    ];
  }
  return [{ hertz: Math.max(LOWEST, AT_LIMIT * Math.sqrt(limitArcmin / arcmin)), from: 0, lasts: 0.5 }];
}
