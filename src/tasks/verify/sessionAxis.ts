import { dirname, resolve } from 'node:path';
import { PolewardError } from '../../error.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import type { Lens } from '../../identify/lens.js';
import { type SessionSite, entriesOf } from '../../night/record/entry.js';
import { readSession } from '../../node/sessionFile.js';
import { placeToRead } from '../../node/sessionPlace.js';

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

/** The last measurement of the session named, or of the one beside a frame; null where there is none, or none with a site. */
export function sessionAxis(named: string | undefined, near: string): SessionAxis | null {
  let path: string;
  try {
    path = placeToRead({ session: named, folder: dirname(resolve(near)) }).path;
  } catch (error) {
    if (named === undefined && error instanceof PolewardError && error.code === 'no-session') return null;
    throw error;
  }
  const session = readSession(path);
  const last = session && entriesOf(session.recorded, 'measurement').at(-1)?.entry;
  if (!last) return null;
  const { fromTruePole, sigma } = last.measurement.axis;
  const { altitudeArcmin, azimuthArcmin } = fromTruePole;
  if (altitudeArcmin === null || azimuthArcmin === null) return null;
  return {
    altitude: altitudeArcmin * ARCMINUTE, azimuth: azimuthArcmin * ARCMINUTE,
    altitudeSigma: (sigma.altitudeArcmin ?? 0) * ARCMINUTE, azimuthSigma: (sigma.azimuthArcmin ?? 0) * ARCMINUTE,
    at: last.at, site: session.start.site, lens: last.state.lens, width: last.state.width, height: last.state.height,
  };
}
