import type { Warning } from '../axis/warning.js';
import type { FrameStars } from './starsOfFrame.js';

/** Files named before the rest is counted. */
const MOST_NAMED = 3;

/** Says which frames' pictures are not the ones their files were made for; nothing where all are. */
export function standInWarnings(frames: readonly FrameStars[]): Warning[] {
  const files = frames.filter(({ standIn }) => standIn !== undefined);
  if (files.length === 0) return [];
  const more = files.length > MOST_NAMED ? ` and ${files.length - MOST_NAMED} more` : '';
  return [{ code: 'preview-used', message: `${files.slice(0, MOST_NAMED).map(({ file }) => file).join(', ')}${more}: ${files[0]!.standIn}` }];
}
