import type { Warning } from '../../axis/warning.js';
import type { FrameStars } from './frameStars.js';

/** Files named before the rest is counted. */
const MOST_NAMED = 3;

/** Says which frames' pictures are not the ones their files were made for, and which are one of several; nothing where none are. */
export function pictureWarnings(frames: readonly FrameStars[]): Warning[] {
  const standIns = frames.filter(({ standIn }) => standIn !== undefined);
  const several = frames.filter(({ notes }) => notes !== undefined && notes.length > 0);
  return [
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
