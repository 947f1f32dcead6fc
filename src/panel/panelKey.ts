import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { makeFolder } from '../node/makeFolder.js';

/** A key serves one night, so that a phone finds the panel again after the watch was restarted; ms. */
const NIGHT_MS = 12 * 3_600_000;
const KEY = /^[\w-]{22}$/;

/** 128 random bits as 22 letters that an address may hold (base64url, RFC 4648 section 5). */
export function newKey(): string {
  return randomBytes(16).toString('base64url');
}

/** Whether a key is the right one, in a time that tells nothing of how much of it is right. */
export function sameKey(given: string, right: string): boolean {
  const digest = (text: string): Buffer => createHash('sha256').update(text).digest();
  return timingSafeEqual(digest(given), digest(right));
}

/**
 * The key of this night, kept in a file that only its owner can read; a new one if there is none or it is older than 12 hours.
 * Where it can't be kept the key is new each time.
 */
export function keyOfNight(path: string, now: number): string {
  try {
    const kept = JSON.parse(readFileSync(path, 'utf8')) as { key?: unknown; at?: unknown };
    const age = now - Date.parse(String(kept.at));
    if (typeof kept.key === 'string' && KEY.test(kept.key) && age >= 0 && age < NIGHT_MS) return kept.key;
  } catch {
    // None yet, or not ours: a new one takes its place.
  }
  const key = newKey();
  try {
    makeFolder(dirname(path));
    writeFileSync(path, `${JSON.stringify({ key, at: new Date(now).toISOString() })}\n`, { mode: 0o600 });
  } catch {
    // A key that can't be kept is as good for as long as the watch runs.
  }
  return key;
}
