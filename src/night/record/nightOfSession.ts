import { DEGREE } from '../../geometry/angle.js';
import type { Vector } from '../../geometry/vector.js';
import type { Lens } from '../../identify/lens.js';
import { type Site, makeSite } from '../../sky/site.js';
import type { Anchor } from '../anchor.js';
import { type Night, emptyNight, nightOf } from '../night.js';
import { type Hemisphere, makeLocalSky } from '../../sky/localSky.js';
import { entriesOf } from './entry.js';
import { anchorOfState } from './oldState.js';
import type { Session } from './session.js';
import { lostAfter } from './sessionLines.js';

/**
 * The night in a session, understood from its looks. A session of version 1 kept no looks: only the camera's place on the mount is used.
 *
 * @param session null: a night that begins
 * @param remembered the camera's place on the mount by an earlier night; null where it is unknown or not wanted
 */
export function nightOfSession(session: Session | null, site: Site | null, hemisphere: Hemisphere, remembered: Anchor | null): Night {
  if (!session) return emptyNight({ site, hemisphere, anchor: remembered });
  const rotation = entriesOf(session.recorded, 'measurement').filter(({ entry }) => entry.how === 'rotation').at(-1);
  const anchor = rotation ? anchorOfState(rotation.entry.state) : session.start.remembered ?? remembered;
  const lost = lostAfter(session);
  const setting = { site, hemisphere, anchor, ...(lost.length > 0 ? { lostAfter: lost } : {}) };
  return nightOf(setting, entriesOf(session.recorded, 'look').map(({ entry }) => entry.look));
}

/** The camera of a session's looks, for later frames, and where it looked last (ICRS); null before the first. */
export function cameraOf(
  { recorded, start }: Session,
): { readonly lens: Lens; readonly hemisphere: Hemisphere; readonly place?: Vector } | null {
  const { hemisphere, site } = start;
  const look = entriesOf(recorded, 'look').at(-1)?.entry.look;
  if (!look) {
    const state = entriesOf(recorded, 'measurement').at(-1)?.entry.state;
    return state ? { lens: state.lens, hemisphere } : null;
  }
  const { pose, lens, utc } = look;
  const toward = makeLocalSky(new Date(utc), site && makeSite(site)).fromLocal([pose[2], pose[5], pose[8]]);
  return { lens, hemisphere, ...(Math.abs(toward[2]) < Math.cos(AT_POLE) ? { place: toward } : {}) };
}

/** A camera nearer to it than this, radians, looks at the pole. */
const AT_POLE = 12 * DEGREE;

/** The night of a session by the place that it records: for readers that add nothing. */
export function nightAsRecorded(session: Session): Night {
  const { site, hemisphere } = session.start;
  return nightOfSession(session, site && makeSite(site), hemisphere, null);
}
