import type { Warning } from '../../axis/warning.js';
import type { FrameStars } from './frameStars.js';

/** Files named one by one before the rest is only counted. */
const MOST_NAMED = 3;

/**
 * Warns of pictures that are not the ones their files were made for, of files with several pictures, and of files that seem incomplete;
 * empty where there are none.
 */
export function pictureWarnings(frames: readonly FrameStars[]): Warning[] {
  const standIns = frames.filter(({ standIn }) => standIn !== undefined);
  const several = frames.filter(({ notes }) => notes !== undefined && notes.length > 0);
  const unfinished = frames.filter(({ unfinishedRows }) => unfinishedRows !== undefined);
  return [
    ...(unfinished.length === 0 ? [] : [{
      code: 'frame-unfinished',
      message: `${names(unfinished)}: the last ${unfinished[0]!.unfinishedRows} of ${unfinished[0]!.height} rows seem not to be written. `
        + `If it is still being copied, give it again when it is whole.`,
    } as const]),
    ...(standIns.length === 0 ? [] : [{ code: 'preview-used', message: `${names(standIns)}: ${standIns[0]!.standIn}` } as const]),
    ...(several.length === 0
      ? []
      : [
        {
          code: 'one-of-several',
          message: `${names(several)}: ${several[0]!.notes!.join(' ')} If another is meant, save it as a file of its own.`,
        } as const,
      ]),
  ];
}

function names(frames: readonly FrameStars[]): string {
  const more = frames.length > MOST_NAMED ? ` and ${frames.length - MOST_NAMED} more` : '';
  return `${frames.slice(0, MOST_NAMED).map(({ file }) => file).join(', ')}${more}`;
}
