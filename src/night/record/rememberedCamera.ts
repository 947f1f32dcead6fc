import type { Anchor } from '../anchor.js';
import { entriesOf } from './entry.js';
import type { Session } from './session.js';

/** A camera is not assumed to sit where it sat longer ago than this, ms. */
const FORGOTTEN = 60 * 86_400_000;

/**
 * Where a rig's camera sat on the mount on the last of its nights, for a night that begins; null without such a night, or where that was
 * in doubt or too long ago.
 *
 * @param sessions those of the rig
 * @param begins when the new night begins, ms
 */
export function rememberedCamera(sessions: readonly Session[], begins: number): Anchor | null {
  const answers = sessions.flatMap(({ recorded }) => entriesOf(recorded, 'answer').map(({ entry }) => entry))
    .filter(({ camera, measurement, utc }) => camera !== undefined && !measurement.doubts?.length && measurement['unconfirmed'] !== true
      && Date.parse(utc) < begins && begins - Date.parse(utc) < FORGOTTEN);
  const last = answers.sort((a, b) => Date.parse(a.utc) - Date.parse(b.utc)).at(-1);
  return last?.camera ? { ...last.camera, from: 'earlier-night' } : null;
}
