import { offsetWords } from '../../frames/clockDoubts.js';
import type { FrameStars, FrameTrouble } from './frameStars.js';

/** Files named one by one before the rest is only counted. */
const MOST_NAMED = 3;
const HOUR_DEG = 15;

/**
 * The trouble of a frame whose clock has no zone, with the zone that the longitude suggests.
 *
 * @param longitudeDeg east; null where it is unknown
 */
export function unzoned({ file, metadata }: Pick<FrameStars, 'file' | 'metadata'>, longitudeDeg: number | null): FrameTrouble {
  const shared = `the camera's clock time is there (${metadata.unzonedClock!.from}), but not its zone. ${suggestion(longitudeDeg)}`
    + 'Give the zone that the clock was set to.';
  // A GPS time in the picture gives the zone.
  const hint = metadata.remarks.map((remark) => /By its GPS time that is [^.]+\./.exec(remark)?.[0]).find((text) => text !== undefined);
  const said = hint === undefined ? shared : `${hint} ${shared}`;
  return { file, code: 'no-time', message: `${file}: ${said}`, shared: said, remedies: ['give-zone'] };
}

/** Troubles that are the same for several frames, reported once. */
export function mergedTroubles(troubles: readonly FrameTrouble[]): FrameTrouble[] {
  const groups = new Map<string, FrameTrouble[]>();
  for (const trouble of troubles) {
    const key = trouble.shared ?? `alone ${groups.size}`;
    groups.set(key, [...(groups.get(key) ?? []), trouble]);
  }
  return [...groups.values()].map((group) => {
    const [first, ...more] = group;
    return more.length === 0 ? first! : { ...first!, message: `${names(group)}: ${first!.shared}` };
  });
}

function suggestion(longitudeDeg: number | null): string {
  if (longitudeDeg === null) return '';
  const hours = Math.round((longitudeDeg - 360 * Math.round(longitudeDeg / 360)) / HOUR_DEG);
  return `By the longitude it is about ${offsetWords(hours * 60)} here, ${offsetWords(hours * 60 + 60)} in summer. `;
}

function names(troubles: readonly FrameTrouble[]): string {
  const more = troubles.length > MOST_NAMED ? ` and ${troubles.length - MOST_NAMED} more` : '';
  return `${troubles.slice(0, MOST_NAMED).map(({ file }) => file).join(', ')}${more}`;
}
