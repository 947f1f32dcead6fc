import { type SaidZone, zoneOffset } from './cameraZone.js';
import { offsetWords } from './clockDoubts.js';
import type { ClockMs } from './dateText.js';

/** The UTC of a clock time by the zone that a person gave. */
export type GivenOffset =
  | { readonly minutes: number; readonly from: string }
  /** Sentences why it makes no time of it, and what to do. */
  | { readonly problem: string };

/** @param from how the clock is called: "EXIF DateTimeOriginal" */
export function givenOffset(said: SaidZone, clock: ClockMs, from: string): GivenOffset {
  const { zone, from: source = '' } = typeof said === 'object' ? said : { zone: said };
  const offset = zoneOffset(zone, clock);
  if ('minutes' in offset) {
    const byName = [offsetWords(offset.minutes), ...(source === '' ? [] : [source])].join(', ');
    const byOffset = `the zone given${source === '' ? '' : ` (${source})`}`;
    return { minutes: offset.minutes, from: typeof zone === 'number' ? byOffset : `${zone} (${byName})` };
  }
  const showed = new Date(clock).toISOString().slice(0, 16).replace('T', ' ');
  const both = `${offsetWords(offset.before)} or ${offsetWords(offset.after)}`;
  const why = offset.shown === 'twice'
    ? `showed ${showed} twice, before they were set back and after. Say which by the offset`
    : `never showed ${showed}, since they were set forward. Say how the camera's was set`;
  return { problem: `${from} was ignored: clocks in ${zone} ${why}: ${both}.` };
}
