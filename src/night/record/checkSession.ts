import { PolewardError } from '../../error.js';
import { DEGREE } from '../../geometry/angle.js';
import type { Hemisphere } from '../../sky/localSky.js';
import { type Recorded, type SessionSite, answersIn, entriesOf, timeOfAnswer } from './entry.js';
import type { Session } from './session.js';

/** Time and place of new frames. */
export interface FramesToAdd {
  readonly times: readonly Date[];
  /** Null where it is unknown. */
  readonly site: SessionSite | null;
  readonly hemisphere: Hemisphere;
  /** The source of these frames' place. */
  readonly siteFrom?: string;
}

const HOUR_MS = 3_600_000;
/** Longer than a night's pause, shorter than from dusk to dusk. */
const SAME_NIGHT_HOURS = 12;
/** About 1 km: farther than positions of one place differ, which are often rounded to 0.01°. */
const SAME_SITE_DEG = 0.01;

/**
 * Why frames do not belong to a session, in words that follow its name; null where they do. They must be of the same night (no time more
 * than 12 h from the session's last frame), the same site (within 0.01° of the sky, about 1 km) and the same hemisphere. What one side does
 * not know is not a difference.
 */
export function whyNotOf(session: Session, { times, site, hemisphere, siteFrom }: FramesToAdd): string | null {
  const last = lastFrameTime(session.recorded);
  const farthest = last === null ? 0 : Math.max(0, ...times.map((t) => Math.abs(t.getTime() - last) / HOUR_MS));
  if (farthest > SAME_NIGHT_HOURS) {
    return `is of another night: ${farthest < 48 ? `${Math.round(farthest)} hours` : `${Math.round(farthest / 24)} days`} lie between `
      + `its last frame and these`;
  }
  if (session.start.hemisphere !== hemisphere) {
    return `is of the ${session.start.hemisphere === 1 ? 'northern' : 'southern'} pole, these frames show the other`;
  }
  if (session.start.site && site && siteDistance(session.start.site, site) > SAME_SITE_DEG) {
    const place = (p: SessionSite): string => `latitude ${p.latitudeDeg}°, longitude ${p.longitudeDeg}°`;
    return `was made at another site (${place(session.start.site)}; these frames: ${place(site)}${siteFrom ? ` by ${siteFrom}` : ''})`;
  }
  return null;
}

/**
 * Makes sure that frames belong to a session, see {@link whyNotOf}.
 *
 * @throws PolewardError `session-differs`, which asks for a new session
 */
export function checkSession(session: Session, frames: FramesToAdd): void {
  const why = whyNotOf(session, frames);
  if (why === null) return;
  throw new PolewardError('session-differs', `The session ${session.path} ${why}. Begin another beside it, or name a new `
    + `file.`, { remedies: ['new-session', 'name-session'] });
}

/** Time in ms of the newest look in the session; null before the first. */
function lastFrameTime(recorded: readonly Recorded[]): number | null {
  const times = [
    ...entriesOf(recorded, 'look').map(({ entry }) => Date.parse(entry.look.utc)),
    ...answersIn(recorded).map(({ entry }) => Date.parse(timeOfAnswer(entry))),
  ];
  return times.length > 0 ? Math.max(...times) : null;
}

/** Distance on the ground between two nearby sites, degrees; for distant ones it is only large. */
function siteDistance(a: SessionSite, b: SessionSite): number {
  const east = Math.abs(((a.longitudeDeg - b.longitudeDeg + 540) % 360 + 360) % 360 - 180);
  return Math.hypot(a.latitudeDeg - b.latitudeDeg, east * Math.cos(a.latitudeDeg * DEGREE));
}
