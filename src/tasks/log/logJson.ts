import type { Session } from '../../night/record/session.js';
import { ARCMINUTE, DEGREE } from '../../geometry/angle.js';
import { rounded } from '../measure/measurementJson.js';
import { type LookTold, type Story, lastKnown } from '../../night/record/story.js';

/** The story as `poleward/log-1`: `now` is the last look, null before the first. Angles in the units their names say. */
export function logJson(session: Session, story: Story): Record<string, unknown> {
  const { version, site, hemisphere, at } = session.start;
  const last = lastKnown(story);
  return {
    schema: 'poleward/log-1',
    file: session.path,
    started: at,
    version, site,
    hemisphere: hemisphere === 1 ? 'north' : 'south',
    now: last && lookJson(last),
    looks: story.looks.map(lookJson),
    turnsSince: story.turnsSince,
    notesSince: story.notesSince,
    warnings: session.warnings,
  };
}

function lookJson({ happened, ...told }: LookTold): Record<string, unknown> {
  return {
    ...told, picture: undefined,
    happened: happened && {
      what: happened.what,
      turnDeg: happened.turn === null ? null : rounded(happened.turn / DEGREE, 4),
      moved: happened.moved
        && {
          altitudeArcmin: rounded(happened.moved.altitude / ARCMINUTE, 4), azimuthArcmin: rounded(happened.moved.azimuth / ARCMINUTE, 4),
        },
    },
  };
}
