import type { Lens } from '../../identify/lens.js';
import { type Site, makeSite } from '../../sky/site.js';
import type { Anchor } from '../anchor.js';
import { type Night, emptyNight, nightOf } from '../night.js';
import type { Hemisphere } from '../../sky/localSky.js';
import { entriesOf } from './entry.js';
import { anchorOfState } from './oldState.js';
import type { Session } from './session.js';
import { lostAfter } from './sessionLines.js';

/**
 * The night that a session holds, understood from its looks. A session of version 1 kept no looks: of it the camera's place on the
 * mount goes on.
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

/** The camera of a session's looks, for those to come; null before the first. */
export function cameraOf({ recorded, start }: Session): { readonly lens: Lens; readonly hemisphere: Hemisphere } | null {
  const look = entriesOf(recorded, 'look').at(-1)?.entry.look ?? entriesOf(recorded, 'measurement').at(-1)?.entry.state;
  return look ? { lens: look.lens, hemisphere: start.hemisphere } : null;
}

/** The night of a session by what it says itself of the place: for whoever only reads it. */
export function nightAsRecorded(session: Session): Night {
  const { site, hemisphere } = session.start;
  return nightOfSession(session, site && makeSite(site), hemisphere, null);
}
