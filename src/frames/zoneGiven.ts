import { type CameraZone, zoneOffset } from './cameraZone.js';
import { offsetWords } from './clockDoubts.js';
import type { ClockMs } from './dateText.js';

/** What the zone that a person gave makes of a clock. */
export type GivenOffset =
  | { readonly minutes: number; readonly from: string }
  /** Sentences why it makes no time of it, and what to do. */
  | { readonly problem: string };

/** @param from how the clock is called: "EXIF DateTimeOriginal" */
export function givenOffset(zone: CameraZone, clock: ClockMs, from: string): GivenOffset {
  const offset = zoneOffset(zone, clock);
  if ('minutes' in offset) {
    return { minutes: offset.minutes, from: typeof zone === 'number' ? 'the zone given' : `${zone} (${offsetWords(offset.minutes)})` };
  }
  const showed = new Date(clock).toISOString().slice(0, 16).replace('T', ' ');
  const both = `${offsetWords(offset.before)} or ${offsetWords(offset.after)}`;
  const why = offset.shown === 'twice'
    ? `showed ${showed} twice, before they were set back and after. Say which by the offset`
    : `never showed ${showed}, since they were set forward. Say how the camera's was set`;
  return { problem: `${from} was ignored: clocks in ${zone} ${why}: ${both}.` };
}
