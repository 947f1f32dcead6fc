import type { AxisError } from '../../axis/axisError.js';
import type { Aim } from '../../axis/aim.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import type { Lens } from '../../identify/lens.js';
import { answerAt } from '../night.js';
import { type ErrorRecord, type OldMeasurement, entriesOf } from './entry.js';
import { nightAsRecorded } from './nightOfSession.js';
import type { Session } from './session.js';

/** Where the axis stands by a session's last look. Errors and one-sigma errors in radians. */
export interface LastAxis {
  readonly fromTruePole: AxisError;
  readonly fromRefractedPole: AxisError;
  readonly sigma: AxisError;
  /** Mid-exposure of the look, ISO UTC. */
  readonly utc: string;
  /** Of the camera it was measured with. */
  readonly lens: Lens;
  readonly width: number;
  readonly height: number;
}

/**
 * The axis as the session's looks show it; null where they don't, and without a site.
 *
 * @param aim the pole that the sigmas are counted from
 */
export function lastAxis(session: Session, aim: Aim): LastAxis | null {
  const night = nightAsRecorded(session);
  const look = night.looks.at(-1);
  if (!look) return oldAxis(entriesOf(session.recorded, 'measurement').at(-1)?.entry);
  const answer = night.setting.site && answerAt(night, aim);
  if (!answer) return null;
  const { fromTruePole, fromRefractedPole, sigma, lens } = answer.axis;
  return { fromTruePole, fromRefractedPole, sigma, utc: look.utc, lens, width: look.width, height: look.height };
}

/** Of a session of version 1. */
function oldAxis(last: OldMeasurement | undefined): LastAxis | null {
  if (!last) return null;
  const { fromTruePole, fromRefractedPole, sigma } = last.measurement.axis;
  const [a, b, s] = [inRadians(fromTruePole), inRadians(fromRefractedPole), inRadians(sigma)];
  const { utc, lens, width, height } = last.state;
  return a && b && s && { fromTruePole: a, fromRefractedPole: b, sigma: s, utc, lens, width, height };
}

function inRadians({ altitudeArcmin, azimuthArcmin, separationArcmin }: ErrorRecord): AxisError | null {
  if (altitudeArcmin === null || azimuthArcmin === null) return null;
  return { altitude: altitudeArcmin * ARCMINUTE, azimuth: azimuthArcmin * ARCMINUTE, separation: separationArcmin * ARCMINUTE };
}
