/**
 * Pitch of the coarse series of ISO metric threads by nominal diameter, both in millimetres (ISO 261, first to third choice, M3 to
 * M24). Written from memory of the standard; M8 = 1.25 is the check the tests have from outside.
 */
export const COARSE_PITCH_MILLIMETRES: ReadonlyMap<number, number> = new Map([
  [3, 0.5], [3.5, 0.6], [4, 0.7], [4.5, 0.75], [5, 0.8], [6, 1], [7, 1], [8, 1.25], [9, 1.25], [10, 1.5], [11, 1.5],
  [12, 1.75], [14, 2], [16, 2], [18, 2.5], [20, 2.5], [22, 2.5], [24, 3],
]);

/** What a designation looks like: M8, or a fine thread with its pitch, M8x1. */
export const THREAD_PATTERN = '^[Mm][0-9]+(\\.[0-9]+)?(\\s*[x×]\\s*[0-9]+(\\.[0-9]+)?)?$';

/** Pitch in millimetres of a thread as ISO writes it: "M8" is coarse, "M8x1" says its pitch. Null where it is no such thread. */
export function threadPitch(thread: string): number | null {
  const match = /^M(\d+(?:\.\d+)?)(?:\s*[x×]\s*(\d+(?:\.\d+)?))?$/i.exec(thread.trim());
  if (!match) return null;
  const diameter = Number(match[1]);
  if (match[2] === undefined) return COARSE_PITCH_MILLIMETRES.get(diameter) ?? null;
  const pitch = Number(match[2]);
  return pitch > 0 && pitch < diameter ? pitch : null;
}
