import type { Aim } from '../../axis/aim.js';
import type { GivenValues } from '../given/given.js';
import type { RigInForce } from '../given/rigInForce.js';

/** What frames are looked at by, beside themselves. */
export interface SeeRequest extends GivenValues {
  readonly aim: Aim;
  readonly rigFile?: RigInForce | null;
  /** What the computer takes for now: only to doubt the frames' own dates. */
  readonly today?: Date;
}
