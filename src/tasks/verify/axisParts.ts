import { axisWithError, horizontal } from '../../axis/axisError.js';
import { type FieldDrift, type Motion, expectedMotion } from '../../run/fieldDrift.js';
import type { Guiding, ImpliedAxis } from '../../run/impliedAxis.js';
import type { RegisteredField } from '../../run/registerField.js';
import type { LocalSky } from '../../sky/localSky.js';
import type { SessionAxis } from './sessionAxis.js';

/** The parts of the measured motion that the axis explains. */
export interface DriftParts {
  /** What the axis error causes, what refraction causes even with the axis on the pole, and the rest. */
  readonly axis: Motion;
  readonly air: Motion;
  readonly rest: Motion;
  readonly axisFrom: 'session' | 'these frames';
}

/** How the implied axis and the session's differ, in sigmas of the difference. */
export interface Comparison {
  readonly session: SessionAxis;
  readonly altitude: number;
  readonly azimuth: number;
  /** Along the combination that these frames determine best. */
  readonly best: number;
}

/** The implied axis compared with the session's. `sky`: that of the reference frame. */
export function compareAxes(implied: ImpliedAxis, session: SessionAxis, sky: LocalSky): Comparison {
  const axis = axisWithError(sky.truePole(implied.geometry.hemisphere), session.altitude, session.azimuth);
  const altitude = implied.fromTruePole.altitude - session.altitude, azimuth = implied.fromTruePole.azimuth - session.azimuth;
  const cos = Math.cos(horizontal(axis).altitude);
  const { up, east, sigma } = implied.combinations[0];
  const along = up * altitude + east * azimuth * cos;
  return {
    session,
    altitude: altitude / Math.hypot(implied.sigma.altitude, session.altitudeSigma),
    azimuth: azimuth / Math.hypot(implied.sigma.azimuth, session.azimuthSigma),
    best: along / Math.hypot(sigma, up * session.altitudeSigma, east * session.azimuthSigma * cos),
  };
}

/** The drift that axis and air cause: by the session's axis where there is one, else by the frames' own; null where neither is known. */
export function driftParts(
  field: RegisteredField, drift: FieldDrift, implied: ImpliedAxis, session: SessionAxis | null, sky: LocalSky, guiding: Guiding,
): DriftParts | null {
  if (!session && guiding !== 'unguided') return null;
  const first = drift.frames[0]!, last = drift.frames.at(-1)!;
  const { geometry } = implied;
  const { hemisphere } = geometry;
  const axis = session ? axisWithError(sky.truePole(hemisphere), session.altitude, session.azimuth) : implied.axis;
  const air = expectedMotion(field, geometry, sky.refractedPole(hemisphere), first, last);
  const both = expectedMotion(field, geometry, axis, first, last);
  return {
    air, axis: { x: both.x - air.x, y: both.y - air.y, rotation: both.rotation - air.rotation },
    rest: { x: drift.x.rate - both.x, y: drift.y.rate - both.y, rotation: drift.rotation.rate - both.rotation },
    axisFrom: session ? 'session' : 'these frames',
  };
}

/** The share of a motion across the picture that a part of it explains: 1 = all. */
export function shareOf(part: Pick<Motion, 'x' | 'y'>, all: Pick<Motion, 'x' | 'y'>): number {
  const square = all.x ** 2 + all.y ** 2;
  return square > 0 ? (part.x * all.x + part.y * all.y) / square : 0;
}
