import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import { closeSync, fchmodSync, openSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { makeFolder } from '../node/makeFolder.js';
import { readRegularFile } from '../node/regularFile.js';

/** A key is valid for one night, so that a phone finds the panel again after the watch was restarted; ms. */
const NIGHT_MS = 12 * 3_600_000;
const KEY = /^[\w-]{22}$/;

/** 128 random bits as 22 letters that an address may hold (base64url, RFC 4648 section 5). */
export function newKey(): string {
  return randomBytes(16).toString('base64url');
}

/** Whether a key is the right one, in a time that does not reveal how much of it is right. */
export function sameKey(given: string, right: string): boolean {
  const digest = (text: string): Buffer => createHash('sha256').update(text).digest();
  return timingSafeEqual(digest(given), digest(right));
}

/** A key file has less than a hundred bytes. */
const MOST_BYTES = 4096;
/** Permissions of others on a file: if anybody may read it, its key is no secret. */
const OTHERS = 0o077;

/**
 * The key of this night, in a file that only its owner can read; a new one if there is none, it is older than 12 hours, or others could
 * read it. Where it can't be stored the key is new each time. A link in that place is not followed.
 */
export function keyOfNight(path: string, now: number): string {
  const kept = keptKey(path, now);
  if (kept !== null) return kept;
  const key = newKey();
  try {
    makeFolder(dirname(path));
    writeForOwner(path, `${JSON.stringify({ key, at: new Date(now).toISOString() })}\n`);
  } catch {
    // A key that can't be kept is as good for as long as the watch runs.
  }
  return key;
}

function keptKey(path: string, now: number): string | null {
  try {
    const kept = JSON.parse(readRegularFile(path, MOST_BYTES, { followLinks: false }).toString('utf8')) as { key?: unknown; at?: unknown };
    if (process.platform !== 'win32' && (statSync(path).mode & OTHERS) !== 0) return null;
    const age = now - Date.parse(String(kept.at));
    return typeof kept.key === 'string' && KEY.test(kept.key) && age >= 0 && age < NIGHT_MS ? kept.key : null;
  } catch {
    // None yet, or not ours: a new one replaces it.
    return null;
  }
}

/** A new file replaces whatever is there, so that nobody who has it open or linked reads what is written. */
function writeForOwner(path: string, text: string): void {
  const temporary = `${path}.${process.pid}.part`;
  rmSync(temporary, { force: true });
  const file = openSync(temporary, 'wx', 0o600);
  try {
    fchmodSync(file, 0o600);
    writeFileSync(file, text);
  } finally {
    closeSync(file);
  }
  try {
    renameSync(temporary, path);
  } catch (error) {
    rmSync(temporary, { force: true });
    throw error;
  }
}
