import type { Sourced } from '../frames/frame.js';

/** When a frame says it was taken. */
export interface TimedFrame {
  readonly file: string;
  readonly time: Date;
  /** Altitude of the Sun then and there, radians; null without a site. */
  readonly sunAltitude: number | null;
  /** Where the frame's file contradicts itself about the time; absent where it doesn't. */
  readonly doubts?: readonly string[];
  /** Minutes east of UTC of the local clock that the file shows; absent where it shows none. */
  readonly utcOffsetMinutes?: number;
  /** The zone that the file itself names, where another was given and counts; absent where none is. */
  readonly overruledZone?: Sourced<number>;
  /** East, radians; absent without a site. */
  readonly longitude?: number;
  readonly exposureSeconds?: number;
}
