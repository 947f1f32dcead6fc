import type { Warning } from '../../axis/warning.js';
import { entriesOf } from './entry.js';
import type { SessionLines } from './sessionLines.js';

/** Up to this many lines are named one by one; of more only the number is given. */
const MOST_NAMED = 3;

/**
 * What could not be read of a night's record, as warnings. Looks may have been lost: after such a line an answer allows for anything having
 * happened there, and if it is the last line, the newest look may be missing.
 */
export function damageWarnings({ recorded, warnings }: SessionLines): Warning[] {
  if (warnings.length === 0) return [];
  const lastLook = Math.max(0, ...[...entriesOf(recorded, 'look'), ...entriesOf(recorded, 'measurement')].map(({ line }) => line));
  const lines = warnings.map(({ line }) => line);
  const named = lines.length > MOST_NAMED ? `${lines.length} lines of the record (${lines[0]} to ${lines.at(-1)})`
    : `${lines.length === 1 ? 'Line' : 'Lines'} ${lines.join(', ')} of the record`;
  const newest = lines.some((line) => line > lastLook);
  return [{
    code: 'record-damaged',
    message: `${named} can't be read: looks may be missing. ${newest
      ? 'The newest may be among them: save a frame and look again before you go by this.'
      : 'Anything may have been moved there: the answers after it allow for that.'}`,
  }];
}
