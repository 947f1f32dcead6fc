import type { StartEntry } from './entry.js';
import type { SessionLines } from './sessionLines.js';

/** A session as its file was at one time. */
export interface Session extends SessionLines {
  /** Identifies the record: the path of its file. */
  readonly path: string;
  readonly start: StartEntry;
}
