import { readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { attempt, PolewardError } from '../error.js';
import type { Adjustment } from '../knobs/learnedKnobs.js';
import type { Session } from '../night/record/session.js';
import { type KnobHistory, adjustmentsIn } from '../tasks/measure/guidance.js';
import { readSession } from './sessionFile.js';

/** What is known of the knobs of a session's rig: from it, and from the other sessions beside it that were made with the same rig. */
export function knobHistory(session: Session, rig: string | null): KnobHistory {
  return { session, earlier: rig === null ? [] : earlierAdjustments(session.path, rig) };
}

function earlierAdjustments(session: string, rig: string): Adjustment[] {
  const folder = dirname(session);
  const others = readdirSync(folder).filter((name) => name.endsWith('.jsonl')).map((name) => join(folder, name)).filter(
    (path) => path !== session,
  );
  return others.sort().flatMap((path) => {
    const other = attempt(() => readSession(path));
    // Something else with that ending: nothing to learn from.
    return other && !(other instanceof PolewardError) && other.start.rig === rig ? adjustmentsIn(other) : [];
  });
}
