import type { Warning } from '../../axis/warning.js';
import type { Lens } from '../../identify/lens.js';
import type { SessionSite } from '../../night/record/entry.js';
import { damageWarnings } from '../../night/record/damage.js';
import { lastAxis } from '../../night/record/lastAxis.js';
import type { Session } from '../../night/record/session.js';

/** The last axis of a session, against the true pole, with one-sigma errors. Radians. */
export interface SessionAxis {
  readonly altitude: number;
  readonly azimuth: number;
  readonly altitudeSigma: number;
  readonly azimuthSigma: number;
  /** When it was measured, ISO UTC. */
  readonly at: string;
  readonly site: SessionSite | null;
  /** Of the camera it was measured with. */
  readonly lens: Lens;
  readonly width: number;
  readonly height: number;
  /** The part of the record that could not be read. */
  readonly damage: readonly Warning[];
}

/** Where the axis pointed at the last look of a session; null where it is unknown. */
export function sessionAxis(session: Session): SessionAxis | null {
  const last = lastAxis(session, 'true');
  if (!last) return null;
  const { fromTruePole: { altitude, azimuth }, sigma, utc, lens, width, height } = last;
  return {
    altitude, azimuth, altitudeSigma: sigma.altitude, azimuthSigma: sigma.azimuth, at: utc, site: session.start.site, lens, width, height,
    damage: damageWarnings(session),
  };
}
