import { closeSync, constants, existsSync, fstatSync, fsyncSync, openSync, readSync, writeSync } from 'node:fs';
import { dirname } from 'node:path';
import { PolewardError } from '../error.js';
import { checkEntry } from '../night/record/checkEntry.js';
import type { LaterEntry, Recorded, SessionEntry, StartEntry } from '../night/record/entry.js';
import type { Session } from '../night/record/session.js';
import { hasStart, lineOf, looksLikeSession, parseSessionLines, sessionVersion } from '../night/record/sessionLines.js';
import { FileError, readRegularFile } from './regularFile.js';
import { type LockPatience, isLocked, underLock } from './sessionLock.js';

/** A night of looks has some megabytes; a larger file is something else. */
const MOST_BYTES = 2 ** 28;

/**
 * Reads a session file; null if there is none, or no complete line in it yet.
 *
 * @throws PolewardError `session-unreadable` if the file can't be read or is something else
 */
export function readSession(path: string): Session | null {
  let text: string;
  try {
    text = readRegularFile(path, MOST_BYTES, { called: `The session ${path}`, followLinks: false }).toString('utf8');
  } catch (error) {
    if (!(error instanceof FileError)) throw error;
    if (error.trouble === 'missing') return null;
    throw new PolewardError('session-unreadable', `${error.message} Give another.`, { remedies: ['name-session'] });
  }
  if (!looksLikeSession(text)) throw notASession(path, text);
  const { recorded, warnings } = parseSessionLines(text);
  const start = startOf(recorded);
  if (!start) return null;
  // Another process may be writing its line: that is not a crash.
  const beingWritten = isLocked(lockPathOf(path));
  return { path, start, recorded, warnings: beingWritten ? warnings.filter(({ code }) => code !== 'line-torn') : warnings };
}

/**
 * Adds entries at the end of a session file and returns them with their lines, once they are on the disk. Makes the file with `start` as
 * its first entry where there is none. Never changes existing lines: after a cut-off line it begins a new one. Each entry is one line;
 * lines given together stay together, whatever other processes add.
 *
 * @param start called if the file has no start yet
 * @param mustBeNew throws {@link SessionTaken} where the file has something already: another process was first
 * @throws PolewardError `session-unwritable` (no permission, disk full), `session-unreadable` (the file is something else), `session-busy`
 * (another process keeps it locked for longer than `patience`: two seconds unless given)
 */
export async function appendToSession(
  path: string, entries: readonly LaterEntry[], start: () => StartEntry, mustBeNew = false, patience?: LockPatience,
): Promise<Recorded[]> {
  try {
    return await underLock(lockPathOf(path), () => appendNow(path, entries, start, mustBeNew), patience);
  } catch (error) {
    if (mustBeNew && codeOf(error) === 'EEXIST') throw new SessionTaken(path);
    if (error instanceof PolewardError || error instanceof TypeError) throw error;
    throw cantWrite(path, error);
  }
}

/** The lock file beside a session file while it is written. */
export function lockPathOf(path: string): string {
  return `${path}.lock`;
}

/** Made where it is missing, readable and not replaced; no link is followed and no pipe waited for, where the system supports that. */
const APPENDING = constants.O_RDWR | constants.O_APPEND | constants.O_CREAT | ((constants.O_NOFOLLOW as number | undefined) ?? 0)
  | ((constants.O_NONBLOCK as number | undefined) ?? 0);

function appendNow(path: string, entries: readonly LaterEntry[], start: () => StartEntry, mustBeNew: boolean): Recorded[] {
  const isNew = !existsSync(path);
  const file = openSync(path, APPENDING);
  try {
    const about = fstatSync(file);
    if (!about.isFile()) throw Object.assign(new Error('no file'), { code: about.isDirectory() ? 'EISDIR' : 'ENXIO' });
    if (about.size > MOST_BYTES) throw notASession(path, '');
    const before = readAll(file);
    if (!looksLikeSession(before)) throw notASession(path, before);
    if (mustBeNew && before !== '') throw Object.assign(new Error('exists'), { code: 'EEXIST' });
    const added = hasStart(before) ? entries : [start(), ...entries];
    const torn = before !== '' && !before.endsWith('\n');
    const bytes = Buffer.from((torn ? '\n' : '') + added.map(readableLine).join(''));
    // One write, so that a kill leaves at most the end missing. A short one means that the disk is full.
    if (writeSync(file, bytes) < bytes.length) throw Object.assign(new Error('short write'), { code: 'ENOSPC' });
    fsyncSync(file);
    if (isNew) syncFolder(dirname(path));
    const line = before.split('\n').length + (torn ? 1 : 0);
    return added.map((entry, i) => ({ line: line + i, entry }));
  } finally {
    closeSync(file);
  }
}

/** What could not be read again (NaN, for example) must not be written: that is a fault of the program, reported at once. */
function readableLine(entry: SessionEntry): string {
  const line = lineOf(entry);
  const trouble = checkEntry(JSON.parse(line));
  if (typeof trouble === 'string') throw new TypeError(`A session entry ${trouble}: ${line.slice(0, 200)}`);
  return line;
}

function readAll(file: number): string {
  const bytes = Buffer.alloc(fstatSync(file).size);
  let filled = 0;
  while (filled < bytes.length) {
    const got = readSync(file, bytes, filled, bytes.length - filled, filled);
    if (got === 0) break;
    filled += got;
  }
  return bytes.toString('utf8', 0, filled);
}

/** A new file is only safe once its folder is written to the disk too. Not every system lets a folder be opened. */
function syncFolder(folder: string): void {
  try {
    const file = openSync(folder, 'r');
    try {
      fsyncSync(file);
    } finally {
      closeSync(file);
    }
  } catch {
    // Windows and some network shares: they write folders by themselves.
  }
}

function startOf(recorded: readonly Recorded[]): StartEntry | null {
  for (const { entry } of recorded) if (entry.kind === 'start') return entry;
  return null;
}

/** Another process began the session that was to be new. */
export class SessionTaken extends Error {}

function notASession(path: string, text: string): PolewardError {
  const version = sessionVersion(text);
  if (version !== null) {
    return new PolewardError('session-unreadable', `The session ${path} is of a newer version of Poleward (session ${version}), and is `
      + `left as it is. Use that version, or give another name.`, { remedies: ['name-session'] });
  }
  return new PolewardError('session-unreadable', `${path} is not a session of Poleward, and is left as it is. Give another `
    + `name.`, { remedies: ['name-session'] });
}

function cantWrite(path: string, error: unknown): PolewardError {
  const code = codeOf(error);
  const why = code === 'ENOSPC' || code === 'EDQUOT' ? 'the disk is full'
    : code === 'ENOENT' || code === 'ENOTDIR' ? 'its folder does not exist'
      : code === 'EISDIR' ? 'it is a folder'
        : code === 'ELOOP' || code === 'EMLINK' ? 'it is a link, and links are not followed here'
        : code === 'ENXIO' ? 'it is not a regular file'
        : code === 'EACCES' || code === 'EPERM' || code === 'EROFS' ? 'it is write-protected' : code;
  return new PolewardError('session-unwritable', `The session ${path} can't be written: ${why}. Name another place, or go `
    + `without.`, { remedies: ['name-session', 'no-session'] });
}

function codeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : String(error);
}
