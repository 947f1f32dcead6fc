import { readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { attempt, PolewardError } from '../error.js';
import type { Adjustment } from '../knobs/learnedKnobs.js';
import type { Anchor } from '../night/anchor.js';
import { rememberedCamera as lastCamera } from '../night/record/rememberedCamera.js';
import type { Session } from '../night/record/session.js';
import { type KnobHistory, adjustmentsIn } from '../tasks/measure/guidance.js';
import { readSession } from './sessionFile.js';

/** What is known of the knobs of a session's rig: from it, and from the other sessions beside it that were made with the same rig. */
export function knobHistory(session: Session, rig: string | null): KnobHistory {
  return { session, earlier: rig === null ? [] : earlierAdjustments(session, rig) };
}

function earlierAdjustments({ path, start }: Session, rig: string): Adjustment[] {
  return sessionsOf(dirname(path), rig).filter((other) => other.path !== path).flatMap((other) => adjustmentsIn(other, start.hemisphere));
}

/** The sessions in a folder that were made with a rig. */
function sessionsOf(folder: string, rig: string): Session[] {
  const paths = readdirSync(folder).filter((name) => name.endsWith('.jsonl')).map((name) => join(folder, name));
  return paths.sort().flatMap((path) => {
    const other = attempt(() => readSession(path));
    // Another file with that ending: nothing to learn from.
    return other && !(other instanceof PolewardError) && other.start.rig === rig ? [other] : [];
  });
}

/** Where the camera of a rig sat on the mount on the last night in a folder's sessions: see {@link lastCamera}. */
export function rememberedCamera(folder: string, rig: string | null, begins: number): Anchor | null {
  return rig === null ? null : lastCamera(sessionsOf(folder, rig), begins);
}
