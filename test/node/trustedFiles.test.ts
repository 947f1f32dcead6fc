import { chmodSync, lstatSync, mkdtempSync, readFileSync, readdirSync, statSync, symlinkSync, writeFileSync } from 'node:fs';
import { spawnSync } from 'node:child_process';
import { tmpdir, hostname } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { startEntry } from '../../src/night/record/entry.js';
import { type OpenRecord, type ToRecord, record } from '../../src/node/nightRecord.js';
import { appendToSession, readSession } from '../../src/node/sessionFile.js';
import { underLock } from '../../src/node/sessionLock.js';
import { readRig } from '../../src/node/rigFile.js';
import { keyOfNight } from '../../src/panel/panelKey.js';

const scratch = (): string => mkdtempSync(join(tmpdir(), 'poleward trusted '));
const unix = { skip: process.platform === 'win32' };
const note = { kind: 'note', at: '2026-11-25T20:00:00.000Z', text: 'words' } as const;
const start = (): ReturnType<typeof startEntry> => startEntry(new Date(0), '0.1.0', null, 1);

describe('links and what is not a regular file', () => {
  test('a session that is a link is neither read nor written', unix, async () => {
    const folder = scratch();
    writeFileSync(join(folder, 'other.jsonl'), '');
    const link = join(folder, 'poleward-session.jsonl');
    symlinkSync('other.jsonl', link);
    expect(() => readSession(link)).toThrow(/is a link/);
    await expect(appendToSession(link, [note], start)).rejects.toThrow(/it is a link/);
    expect(readFileSync(join(folder, 'other.jsonl'), 'utf8')).toBe('');
  });

  test('a pipe or a device as session or rig is refused without waiting', unix, () => {
    const pipe = join(scratch(), 'pipe');
    expect(spawnSync('mkfifo', [pipe]).status).toBe(0);
    expect(() => readSession(pipe)).toThrow(/named pipe/);
    expect(() => readSession('/dev/zero')).toThrow(/device/);
    expect(() => readRig(pipe, 'pipe')).toThrow(/named pipe/);
    expect(() => readRig('/dev/zero', '/dev/zero')).toThrow(/device/);
  });

  test('a lock that is a link is taken away, not followed', unix, async () => {
    const folder = scratch();
    const victim = join(folder, 'victim');
    writeFileSync(victim, 'kept');
    symlinkSync(victim, join(folder, 'lock'));
    expect(await underLock(join(folder, 'lock'), () => 'done', { milliseconds: 2000, emptyMilliseconds: 1 })).toBe('done');
    expect(readFileSync(victim, 'utf8')).toBe('kept');
  });

  test('a key is 0600 in a file of its own, whatever stood there', unix, () => {
    const path = join(scratch(), 'key.json');
    const other = join(scratch(), 'other');
    writeFileSync(other, 'kept');
    symlinkSync(other, path);
    const key = keyOfNight(path, 0);
    expect(readFileSync(other, 'utf8')).toBe('kept');
    expect(lstatSync(path).isFile()).toBe(true);
    expect(statSync(path).mode & 0o777).toBe(0o600);
    // A key that others could read is none any more.
    chmodSync(path, 0o644);
    const next = keyOfNight(path, 0);
    expect(next).not.toBe(key);
    expect(statSync(path).mode & 0o777).toBe(0o600);
    expect(keyOfNight(path, 0)).toBe(next);
  });
});

test('a lock of a process whose number another has by now is taken over', { skip: process.platform !== 'linux' }, async () => {
  const lock = join(scratch(), 'lock');
  // A living process, but not the one that made the lock.
  writeFileSync(lock, JSON.stringify({ pid: process.ppid, host: hostname(), thread: 0, token: 'a', began: 'long ago 1' }));
  expect(await underLock(lock, () => 'done', { milliseconds: 500, emptyMilliseconds: 100 })).toBe('done');
});

test('two new sessions begun at the same moment get files of their own', async () => {
  const folder = scratch();
  const open: OpenRecord = { path: join(folder, 'poleward-session.jsonl'), session: null, said: null, isNew: true };
  const kept: ToRecord = { site: null, hemisphere: 1, rig: null, remembered: null, before: [note], looks: [], answer: null };
  const [one, other] = await Promise.all([record(open, kept), record(open, kept)]);
  expect(one.kept && other.kept).toBe(true);
  expect(one.path).not.toBe(other.path);
  expect(readdirSync(folder).sort()).toEqual(['poleward-session-2.jsonl', 'poleward-session.jsonl']);
});

test('a session of a newer version is called what it is, and left as it is', async () => {
  const path = join(scratch(), 's.jsonl');
  const text = '{"schema":"poleward/session-9","kind":"start","at":"2030-01-01T00:00:00.000Z"}\n';
  writeFileSync(path, text);
  expect(() => readSession(path)).toThrow(/newer version of Poleward \(session 9\)/);
  await expect(appendToSession(path, [note], start)).rejects.toThrow(/newer version/);
  expect(readFileSync(path, 'utf8')).toBe(text);
});

test('a rig whose knob moves nothing is refused', () => {
  const path = join(scratch(), 'rig.json');
  writeFileSync(path, '{"schema":"poleward/rig-1","knobs":{"azimuth":{"arcminPerTurn":5e-324}}}');
  expect(() => readRig(path, 'rig.json')).toThrow(/arcminPerTurn/);
});
