import { PolewardError } from '../../error.js';
import type { FrameTrouble } from './frameStars.js';
import { mergedTroubles } from './sharedTrouble.js';

/** The refusal where fewer than two of the given frames remain: how many, and what is wrong with the others. */
export function tooFew(usable: number, all: readonly FrameTrouble[]): PolewardError {
  const troubles = mergedTroubles(all);
  const left = usable === 0 ? 'No frame can be used' : 'Only one frame can be used, and two are needed';
  const named = troubles.slice(0, 3);
  const shown = named.map(({ message }) => message).join('\n');
  const more = troubles.length > 3 ? `\n… and ${troubles.length - 3} more.` : '';
  return new PolewardError(
    troubles[0]?.code ?? 'too-few-frames', `${left}. ${shown}${more}`, { remedies: named.flatMap(({ remedies }) => remedies ?? []) },
  );
}
