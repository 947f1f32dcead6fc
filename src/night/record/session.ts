import type { StartEntry } from './entry.js';
import type { SessionLines } from './sessionLines.js';

/** A session as its record holds it at one moment. */
export interface Session extends SessionLines {
  /** By which the record is told from others: the path of its file. */
  readonly path: string;
  readonly start: StartEntry;
}
