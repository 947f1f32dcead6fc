import { closeSync, existsSync, openSync, readdirSync } from 'node:fs';
import { homedir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { makeFolder } from './makeFolder.js';
import { lockPathOf } from './sessionFile.js';
import { canLock } from './sessionLock.js';
import { type Surroundings, stateFolder } from './stateFolder.js';

/** Where a session is, and what the person must be told about that. */
export interface SessionPlace {
  readonly path: string;
  /** A sentence if it is not in the expected place, else null. */
  readonly said: string | null;
}

export interface SessionWish {
  /** The file that the person named. */
  readonly session?: string | undefined;
  /** Begin another one; earlier ones stay as they are. */
  readonly newSession?: boolean | undefined;
  /** Where the frames are. */
  readonly folder: string;
}

const NAME = /^poleward-session(?:-([1-9]\d{0,5}))?\.jsonl$/;

/**
 * Where to record: the file named; else the newest session beside the frames (`poleward-session.jsonl`, after `--new-session`
 * `poleward-session-2.jsonl`, …); else, where that can't be written, likewise in the user's state folder, which is made. Makes no session
 * file.
 *
 * @throws PolewardError `session-unwritable` if neither can be written, `bad-option` if a new session is to have the name of an existing
 * file
 */
export function placeToWrite(wish: SessionWish, surroundings: Surroundings = here()): SessionPlace {
  if (wish.session !== undefined) {
    const path = resolve(wish.session);
    if (wish.newSession && existsSync(path)) {
      throw new PolewardError('bad-option', `${path} exists already, so it is not a new session. Give a new name, or `
        + `none.`, { remedies: ['name-session'] });
    }
    return { path, said: null };
  }
  const beside = candidate(resolve(wish.folder), wish.newSession ?? false);
  if (canAppend(beside)) return { path: beside, said: null };
  const state = stateFolder(surroundings);
  try {
    makeFolder(state);
  } catch {
    // The next line finds out.
  }
  const path = candidate(state, wish.newSession ?? false);
  if (canAppend(path)) return { path, said: `The folder of the frames can't be written, so the session is kept in ${path}.` };
  throw new PolewardError('session-unwritable', `Neither ${dirname(beside)} nor ${state} can be written, so no session can be kept. `
    + `Name a place, or go without.`, { remedies: ['name-session', 'no-session'] });
}

/**
 * The session to read: the file named; else the newest beside the frames; else the newest in the user's state folder.
 *
 * @throws PolewardError `no-session` if there is none
 */
export function placeToRead(wish: Omit<SessionWish, 'newSession'>, surroundings: Surroundings = here()): SessionPlace {
  const place = findSession(wish, surroundings);
  if (place) return place;
  throw new PolewardError('no-session', `There is no session in ${resolve(wish.folder)}. Measure first, or name `
    + `one.`, { remedies: ['name-session'] });
}

/**
 * The same; null where none is named and there is none.
 *
 * @throws PolewardError `no-session` if the one named does not exist
 */
export function findSession(wish: Omit<SessionWish, 'newSession'>, surroundings: Surroundings = here()): SessionPlace | null {
  if (wish.session !== undefined) {
    const path = resolve(wish.session);
    if (!existsSync(path)) throw new PolewardError('no-session', `There is no session ${path}. Check the name, or measure first.`);
    return { path, said: null };
  }
  const folder = resolve(wish.folder);
  const beside = newest(folder);
  if (beside !== null) return { path: beside, said: null };
  const kept = newest(stateFolder(surroundings));
  return kept === null ? null : { path: kept, said: `There is no session in ${folder}; this one is from ${kept}.` };
}

function here(): Surroundings {
  return { platform: process.platform, env: process.env, home: homedir() };
}

/** The newest session of a folder, or the name of the next one. */
function candidate(folder: string, next: boolean): string {
  const last = Math.max(0, ...numbers(folder));
  return join(folder, sessionName(next ? last + 1 : Math.max(1, last)));
}

function newest(folder: string): string | null {
  const found = numbers(folder);
  return found.length > 0 ? join(folder, sessionName(Math.max(...found))) : null;
}

function sessionName(number: number): string {
  return number === 1 ? 'poleward-session.jsonl' : `poleward-session-${number}.jsonl`;
}

function numbers(folder: string): number[] {
  try {
    return readdirSync(folder).flatMap((name) => {
      const match = NAME.exec(name);
      return match ? [Number(match[1] ?? 1)] : [];
    });
  } catch {
    return [];
  }
}

/** Tried by writing: on read-only disks and network shares permissions are not reliable. */
function canAppend(path: string): boolean {
  if (!canLock(lockPathOf(path))) return false;
  if (!existsSync(path)) return true;
  try {
    closeSync(openSync(path, 'r+'));
    return true;
  } catch {
    return false;
  }
}
