import type { Aim } from '../../axis/aim.js';
import type { GivenValues } from '../given/given.js';
import type { RigInForce } from '../given/rigInForce.js';

/** What is needed to look at frames, apart from the frames themselves. */
export interface SeeRequest extends GivenValues {
  readonly aim: Aim;
  readonly rigFile?: RigInForce | null;
  /** The computer's date: only used to doubt the frames' own dates. */
  readonly today?: Date;
}
