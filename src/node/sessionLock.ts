import { randomBytes } from 'node:crypto';
import { closeSync, openSync, readFileSync, unlinkSync, writeSync } from 'node:fs';
import { hostname } from 'node:os';
import { threadId } from 'node:worker_threads';
import { setTimeout } from 'node:timers/promises';
import { PolewardError } from '../error.js';
import { FileError, readRegularFile } from './regularFile.js';

/** Who holds a lock, as the lock file says. */
interface Holder {
  readonly pid: number;
  readonly host: string;
  readonly thread: number;
  readonly token: string;
  /** When the process began, in the system's own words; null where it gives none. */
  readonly began: string | null;
}

/** A lock file has some hundred bytes. */
const MOST_BYTES = 4096;

export interface LockPatience {
  /** How long to wait for a lock of another process. */
  readonly milliseconds: number;
  /** How long an empty lock file is left to its maker, which needs only microseconds to fill it. */
  readonly emptyMilliseconds: number;
}

const PATIENCE: LockPatience = { milliseconds: 2000, emptyMilliseconds: 500 };
const BETWEEN_TRIES_MS = 10;

/**
 * Does `work` while no other process does any under the same lock file, and returns its result. `work` is synchronous: no signal handler or
 * other task of this process comes between. The lock is a file made with `wx`, the only atomic step on local disks and network shares
 * alike. A lock left by a dead process is taken over.
 *
 * @throws PolewardError `session-busy` if another process keeps the lock for longer than `patience` (two seconds)
 * @throws the file system's error if the lock file can't be made
 */
export async function underLock<T>(lockPath: string, work: () => T, patience: LockPatience = PATIENCE): Promise<T> {
  const giveUp = performance.now() + patience.milliseconds;
  let emptySince: number | null = null;
  for (;;) {
    const refusal = tryLock(lockPath);
    if (refusal === null) {
      try {
        return work();
      } finally {
        unlock(lockPath);
      }
    }
    const found = readLock(lockPath);
    const now = performance.now();
    emptySince = found === 'empty' ? emptySince ?? now : null;
    if (now > giveUp) throw found === null ? refusal : busy(lockPath, found);
    const abandoned = emptySince !== null && now - emptySince > patience.emptyMilliseconds;
    if (found !== null && (abandoned || isDead(found))) await breakLock(lockPath, found, { ...patience, milliseconds: giveUp - now });
    else await setTimeout(BETWEEN_TRIES_MS * (0.5 + Math.random()));
  }
}

/** Whether a lock file can be made there: the folder exists and may be written. */
export function canLock(lockPath: string): boolean {
  const refusal = tryLockOrRefusal(lockPath);
  if (refusal === null) unlock(lockPath);
  return refusal === null || codeOf(refusal) === 'EEXIST';
}

/** Whether a live process is working under this lock, as far as can be known. */
export function isLocked(lockPath: string): boolean {
  const found = readLock(lockPath);
  return found !== null && !isDead(found);
}

/** Null once this process has the lock, else why it does not; throws where waiting can't help. */
function tryLock(lockPath: string): Error | null {
  const refusal = tryLockOrRefusal(lockPath);
  if (refusal !== null && !isTaken(refusal)) throw refusal;
  return refusal;
}

function tryLockOrRefusal(lockPath: string): Error | null {
  const mine: Holder = {
    pid: process.pid, host: hostname(), thread: threadId, token: randomBytes(8).toString('hex'), began: beginOf(process.pid),
  };
  try {
    const file = openSync(lockPath, 'wx');
    try {
      writeSync(file, JSON.stringify(mine));
    } catch (error) {
      unlock(lockPath);
      throw error;
    } finally {
      closeSync(file);
    }
  } catch (error) {
    return error as Error;
  }
  // Another process that found the file still empty after a long pause of this one may have removed it.
  const now = readLock(lockPath);
  const held = now !== null && now !== 'empty' && now.token === mine.token;
  return held ? null : Object.assign(new Error('lock lost'), { code: 'EEXIST' });
}

function unlock(lockPath: string): void {
  try {
    unlinkSync(lockPath);
  } catch (error) {
    if (codeOf(error) !== 'ENOENT') throw error;
  }
}

/** The process with the lock; `empty` if the file is empty; null if there is no lock any more. */
function readLock(lockPath: string): Holder | 'empty' | null {
  let text: string;
  try {
    text = readRegularFile(lockPath, MOST_BYTES, { followLinks: false }).toString('utf8');
  } catch (error) {
    if (!(error instanceof FileError)) throw error;
    // A link or a pipe is not a process's lock; it is removed like one that its maker left empty.
    return error.trouble === 'missing' ? null : 'empty';
  }
  try {
    const { pid, host, thread, token, began } = JSON.parse(text) as Partial<Holder>;
    const whole = Number.isInteger(pid) && pid! > 0 && typeof host === 'string' && typeof token === 'string';
    return whole ? { pid: pid!, host, thread: thread ?? 0, token, began: typeof began === 'string' ? began : null } : 'empty';
  } catch {
    return 'empty';
  }
}

/**
 * Removes a lock that a dead process left. Two processes that find the same dead lock must not both remove it, or the second would remove
 * the lock that the first has just made; so removing needs a lock of its own, and a second check under it. If a process dies here, that
 * second lock is taken over in the same way.
 */
async function breakLock(lockPath: string, found: Holder | 'empty', patience: LockPatience): Promise<void> {
  await underLock(`${lockPath}-break`, () => {
    if (sameLock(readLock(lockPath), found)) unlock(lockPath);
  }, patience);
}

function sameLock(a: Holder | 'empty' | null, b: Holder | 'empty'): boolean {
  return typeof a === 'object' && typeof b === 'object' ? a?.token === b.token : a === b;
}

/** Only for a process of this computer can it be known whether it is dead. */
function isDead(holder: Holder | 'empty'): boolean {
  if (holder === 'empty' || holder.host !== hostname()) return false;
  // Work under a lock is never interrupted by this thread itself: its own process number means a process before a restart.
  if (holder.pid === process.pid) return holder.thread === threadId;
  const began = beginOf(holder.pid);
  if (holder.began !== null && began !== null && began !== holder.began) return true;
  try {
    process.kill(holder.pid, 0);
    return false;
  } catch (error) {
    return codeOf(error) === 'ESRCH';
  }
}

/**
 * When a process began, in words that no other process of the same number shares, or null where the system does not give it: on Linux the
 * start time of proc(5), in ticks since the computer started, and the identity of that start.
 */
function beginOf(pid: number): string | null {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, 'latin1');
    // The name in brackets may contain anything; the start time is the 20th word after it.
    const ticks = stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19];
    return ticks === undefined ? null : `${readFileSync('/proc/sys/kernel/random/boot_id', 'latin1').trim()} ${ticks}`;
  } catch {
    return null;
  }
}

function busy(lockPath: string, holder: Holder | 'empty'): PolewardError {
  const who = holder === 'empty' ? 'Another process' : `Process ${holder.pid} on ${holder.host}`;
  return new PolewardError('session-busy', `${who} is writing to the session and does not finish. Try again; if nothing else runs, `
    + `delete ${lockPath}.`);
}

/** Windows refuses a name for a short time after its file was removed. */
function isTaken(error: unknown): boolean {
  const code = codeOf(error);
  return code === 'EEXIST' || (process.platform === 'win32' && (code === 'EPERM' || code === 'EBUSY'));
}

function codeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : '';
}
