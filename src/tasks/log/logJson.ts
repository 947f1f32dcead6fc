import type { Session } from '../../night/record/session.js';
import { type Story, lastKnown } from '../../night/record/story.js';

/** The story as `poleward/log-1`: `now` is the last look, null before the first. Angles in the units their names say. */
export function logJson(session: Session, story: Story): Record<string, unknown> {
  const { version, site, hemisphere, at } = session.start;
  return {
    schema: 'poleward/log-1',
    file: session.path,
    started: at,
    version, site,
    hemisphere: hemisphere === 1 ? 'north' : 'south',
    now: lastKnown(story),
    looks: story.looks.map((look) => ({ ...look, picture: undefined })),
    turnsSince: story.turnsSince,
    notesSince: story.notesSince,
    warnings: session.warnings,
  };
}
