import { ARCMINUTE } from '../../geometry/angle.js';
import type { Lens } from '../../identify/lens.js';
import { type SessionSite, entriesOf } from '../../night/record/entry.js';
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
}

/** The last measurement of a session; null where there is none, or none with a site. */
export function sessionAxis({ recorded, start }: Session): SessionAxis | null {
  const last = entriesOf(recorded, 'measurement').at(-1)?.entry;
  if (!last) return null;
  const { fromTruePole, sigma } = last.measurement.axis;
  const { altitudeArcmin, azimuthArcmin } = fromTruePole;
  if (altitudeArcmin === null || azimuthArcmin === null) return null;
  return {
    altitude: altitudeArcmin * ARCMINUTE, azimuth: azimuthArcmin * ARCMINUTE,
    altitudeSigma: (sigma.altitudeArcmin ?? 0) * ARCMINUTE, azimuthSigma: (sigma.azimuthArcmin ?? 0) * ARCMINUTE,
    at: last.at, site: start.site, lens: last.state.lens, width: last.state.width, height: last.state.height,
  };
}
