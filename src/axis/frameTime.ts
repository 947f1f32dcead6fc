import type { Sourced } from '../frames/frame.js';

/** The time of a frame. */
export interface TimedFrame {
  readonly file: string;
  readonly time: Date;
  /** Altitude of the Sun then and there, radians; null without a site. */
  readonly sunAltitude: number | null;
  /** Where the frame's file contradicts itself about the time; absent where it doesn't. */
  readonly doubts?: readonly string[];
  /** Minutes east of UTC of a local clock in the file; absent without one. */
  readonly utcOffsetMinutes?: number;
  /** The zone that the file itself gives, where another was given and is used; absent where none is. */
  readonly overruledZone?: Sourced<number>;
  /** East, radians; absent without a site. */
  readonly longitude?: number;
  readonly exposureSeconds?: number;
}
