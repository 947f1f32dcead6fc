import type { CommonOptions } from './commonOptions.js';
import type { SessionOptions } from './sessionOptions.js';

/** Options of `poleward watch`, as commander gives them. */
export interface WatchOptions extends CommonOptions, SessionOptions {
  readonly poll?: boolean;
  readonly all?: boolean;
  readonly fileTimes?: boolean;
  readonly followed?: boolean;
  readonly panel?: boolean;
  readonly panelOpen?: boolean;
  readonly panelPort?: number;
}
