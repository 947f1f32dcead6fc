import { readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { attempt, PolewardError } from '../error.js';
import type { Adjustment } from '../knobs/learnedKnobs.js';
import type { Anchor } from '../night/anchor.js';
import { entriesOf } from '../night/record/entry.js';
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
    // Something else with that ending: nothing to learn from.
    return other && !(other instanceof PolewardError) && other.start.rig === rig ? [other] : [];
  });
}

/** A camera is not thought to sit as it sat longer ago than this, ms. */
const FORGOTTEN = 60 * 86_400_000;

/**
 * Where the camera of a rig sat on the mount on the last night that a folder's sessions hold, for a night that begins: null without
 * such a night, or where that was in doubt or too long ago.
 *
 * @param begins when the new night begins, ms
 */
export function rememberedCamera(folder: string, rig: string | null, begins: number): Anchor | null {
  if (rig === null) return null;
  const sessions = sessionsOf(folder, rig);
  const answers = sessions.flatMap(({ recorded }) => entriesOf(recorded, 'answer').map(({ entry }) => entry))
    .filter(({ camera, measurement, utc }) => camera !== undefined && !measurement.doubts?.length && measurement['unconfirmed'] !== true
      && Date.parse(utc) < begins && begins - Date.parse(utc) < FORGOTTEN);
  const last = answers.sort((a, b) => Date.parse(a.utc) - Date.parse(b.utc)).at(-1);
  return last?.camera ? { ...last.camera, from: 'earlier-night' } : null;
}
