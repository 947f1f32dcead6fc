import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import type { Guiding } from '../../run/impliedAxis.js';
import type { Given } from '../given/given.js';
import type { SessionAxis } from './sessionAxis.js';

/** The request to verify a tracked run. */
export interface VerifyRequest {
  readonly given: Given;
  readonly guiding: Guiding;
  /** The target, where the person gives it: the declination with one of the others. */
  readonly declinationDeg: Sourced<number> | null;
  /** At the first frame, west positive. */
  readonly hourAngleHours: Sourced<number> | null;
  readonly rightAscensionHours: Sourced<number> | null;
  /** Of the picture's upper edge as it is shown, from north through east. */
  readonly positionAngleDeg: Sourced<number> | null;
  /** With the position angle: what is shown is the sky's mirror image. */
  readonly mirrored: boolean;
  /** Of each frame; null: by their headers. */
  readonly exposureSeconds: Sourced<number> | null;
  /** The longest trail allowed in one exposure, pixels. */
  readonly limitPixels: number;
  /** The measurement to compare with; null: none. */
  readonly session: SessionAxis | null;
}

/** Refuses a request that contradicts itself. Throws PolewardError `bad-option`. */
export function checkRequest({ declinationDeg, hourAngleHours, rightAscensionHours, positionAngleDeg, mirrored }: VerifyRequest): void {
  if (hourAngleHours && rightAscensionHours) {
    throw new PolewardError(
      'bad-option', 'The target was given by hour angle and by right ascension. Give one of them.',
      { remedies: ['give-hour-angle', 'give-right-ascension'] },
    );
  }
  if ((hourAngleHours ?? rightAscensionHours) && !declinationDeg) {
    throw new PolewardError(
      'bad-option', 'A target needs its declination too. Add it, or leave the target to the frames.', { remedies: ['give-declination'] },
    );
  }
  if (mirrored && !positionAngleDeg) {
    throw new PolewardError(
      'bad-option', 'A mirrored picture needs its position angle too. Give both.',
      { remedies: ['give-mirrored', 'give-position-angle'] },
    );
  }
}
