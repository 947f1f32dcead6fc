import { dirname, relative, resolve } from 'node:path';
import { attempt, PolewardError } from '../error.js';
import { type FramesToAdd, checkSession, whyNotOf } from '../night/record/checkSession.js';
import { OLD_SCHEMA } from '../night/record/entry.js';
import type { Session } from '../night/record/session.js';
import type { Notice } from '../remedy.js';
import { type ToRecord, beginningOf, entriesToRecord, sessionSite, whereAndWhen } from '../tasks/measure/toRecord.js';
import { SessionTaken, appendToSession, readSession } from './sessionFile.js';
import type { LockPatience } from './sessionLock.js';
import { findSession, placeToRead, placeToWrite } from './sessionPlace.js';
import { VERSION } from './version.js';

export { type ToRecord, sessionSite, whereAndWhen };

/** Where the night is to be recorded. */
export interface SessionRequest {
  /** The file that the person named; false: nothing is recorded. */
  readonly session?: string | false | undefined;
  readonly newSession?: boolean | undefined;
  /** Where the frames are. */
  readonly folder: string;
}

/** The record for looks and answers. */
export interface OpenRecord {
  /** Null where nothing is recorded. */
  readonly path: string | null;
  /** Its entries of this night; null where it is new. */
  readonly session: Session | null;
  /** What the person must be told about its place, or why nothing is recorded. */
  readonly said: Notice | null;
  /** It must be a session of its own: where another process begins one of this name first, the next name is taken. */
  readonly isNew?: boolean;
}

/** Folder of the first frame, where the session is searched. */
export function folderOf(files: readonly string[]): string {
  return dirname(resolve(files[0] ?? '.'));
}

/**
 * The session that a recheck continues.
 *
 * @throws PolewardError `no-session` where there is none, or it has no frame
 */
export function openForRecheck(
  folder: string, named: string | undefined,
): OpenRecord & { readonly session: Session; readonly path: string } {
  const place = placeToRead({ session: named, folder });
  const session = readSession(place.path);
  const holds = session?.recorded.some(({ entry }) => entry.kind === 'look' || entry.kind === 'measurement') ?? false;
  if (!session || !holds) {
    throw new PolewardError('no-session', `The session ${place.path} holds no measurement yet. Measure first, with frames turned in `
      + `right ascension.`);
  }
  return { ...writable(place.path, session, folder), session, said: place.said === null ? null : { message: place.said } };
}

/** A session of version 1 is left as it is: new entries go into a new one beside it. */
function writable(path: string, session: Session, folder: string): { readonly path: string } {
  return session.start.schema === OLD_SCHEMA ? { path: placeToWrite({ newSession: true, folder }).path } : { path };
}

/** The session beside the frames or named; null where there is none, or none that can be read. */
export function sessionThere({ session, newSession, folder }: SessionRequest): Session | null {
  if (session === false || newSession) return null;
  const found = attempt(() => {
    const place = findSession({ session, folder });
    return place && readSession(place.path);
  });
  return found instanceof PolewardError ? null : found;
}

/**
 * Opens the session for some frames; where the existing one is of another night, site or mount, a new one. A session that can't be written
 * must not cost the answer: then nothing is recorded, and a notice says so.
 *
 * @throws PolewardError `session-differs` where the person named the session
 */
export function openForFrames({ session: named, newSession, folder }: SessionRequest, frames: FramesToAdd): OpenRecord {
  if (named === false) return { path: null, session: null, said: null };
  const opened = attempt((): OpenRecord => {
    const place = placeToWrite({ session: named, newSession, folder });
    const session = readSession(place.path);
    if (session === null || whyNotOf(session, frames) === null) {
      const at = session ? writable(place.path, session, folder) : place;
      return {
        path: at.path, session, said: place.said === null ? null : { message: place.said },
        ...(newSession && named === undefined ? { isNew: true } : {}),
      };
    }
    if (named !== undefined) checkSession(session, frames);
    const { path } = placeToWrite({ newSession: true, folder });
    const message = [place.said, `The session at hand is of another night or place, so a new one was begun: `
      + `${path}.`].filter((s) => s !== null).join(' ');
    return { path, session: null, said: { message }, isNew: true };
  });
  if (opened instanceof PolewardError && opened.code === 'session-differs') throw opened;
  return opened instanceof PolewardError ? { path: null, session: null, said: notRecorded(opened) } : opened;
}

/** Whether something was recorded, and what to say about it. */
export interface Recorded {
  /** False where it could not be written: a caller that can keeps the entries and tries again. */
  readonly kept: boolean;
  /** Where; null where nothing is recorded. */
  readonly path: string | null;
  readonly said: Notice | null;
}

/** Number of names that are tried for a new session. */
const TRIES = 20;

/** Records frames and their answer. Never throws where that fails: the answer is valid without a record. */
export async function record(open: OpenRecord, kept: ToRecord, patience?: LockPatience): Promise<Recorded> {
  const { said } = open;
  // Nothing to say: no record was wanted.
  if (open.path === null) return { kept: said === null, path: null, said };
  try {
    for (let { path } = open as { path: string }, tries = 0; ; tries++) {
      const entries = entriesToRecord(kept, new Date(), (file) => relative(dirname(path), resolve(file)));
      if (entries.length === 0) return { kept: true, path, said };
      try {
        await appendToSession(path, entries, () => beginningOf(kept, new Date(), VERSION), open.isNew ?? false, patience);
        const moved = path !== open.path && said !== null ? { ...said, message: said.message.replace(open.path, path) } : said;
        return { kept: true, path, said: moved };
      } catch (error) {
        if (!(error instanceof SessionTaken) || tries >= TRIES) throw error;
        path = placeToWrite({ newSession: true, folder: dirname(path) }).path;
      }
    }
  } catch (error) {
    if (!(error instanceof PolewardError)) throw error;
    return { kept: false, path: open.path, said: notRecorded(error) };
  }
}

function notRecorded({ message, remedies }: PolewardError): Notice {
  return { message: `Not recorded: ${message}`, remedies };
}
