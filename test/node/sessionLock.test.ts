import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, writeFileSync } from 'node:fs';
import { hostname, tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { canLock, isLocked, underLock } from '../../src/node/sessionLock.js';

const newLock = (): string => join(mkdtempSync(join(tmpdir(), 'poleward lock ')), 's.jsonl.lock');
const heldBy = (pid: number, host = hostname()): string => JSON.stringify({ pid, host, thread: 0, token: `t${pid}` });
const deadPid = spawnSync(process.execPath, ['-e', '']).pid;
const IMPATIENT = { milliseconds: 60, emptyMilliseconds: 20 };

describe('a lock', () => {
  test('stands while the work is done and is gone after it, also after a failure', async () => {
    const path = newLock();
    expect(await underLock(path, () => existsSync(path))).toBe(true);
    await expect(underLock(path, () => { throw new Error('work failed'); })).rejects.toThrow('work failed');
    expect(readdirSync(dirname(path))).toEqual([]);
  });

  test('of a dead process is taken over, also where one died while taking over', async () => {
    const path = newLock();
    writeFileSync(path, heldBy(deadPid));
    writeFileSync(`${path}-break`, heldBy(deadPid));
    expect(isLocked(path)).toBe(false);
    expect(await underLock(path, () => 'done')).toBe('done');
    expect(readdirSync(dirname(path))).toEqual([]);
  });

  test('without content is taken over after a while', async () => {
    const path = newLock();
    writeFileSync(path, '');
    writeFileSync(`${path}-break`, '');
    expect(await underLock(path, () => 'done', { milliseconds: 5000, emptyMilliseconds: 20 })).toBe('done');
  });

  test('with the number of this very process is one from before a restart', async () => {
    const path = newLock();
    writeFileSync(path, heldBy(process.pid));
    expect(await underLock(path, () => 'done')).toBe('done');
  });

  test.each([
    ['a live process', heldBy(process.ppid), new RegExp(`Process ${process.ppid} on .*does not finish.*delete .*s\\.jsonl\\.lock`)],
    ['a process on another computer, dead or alive', heldBy(deadPid, 'another computer'), /on another computer/],
  ])('of %s is never taken: the wait ends with words', async (_, content, says) => {
    const path = newLock();
    writeFileSync(path, content);
    expect(isLocked(path)).toBe(true);
    await expect(underLock(path, () => 'done', IMPATIENT)).rejects.toMatchObject({
      code: 'session-busy', message: expect.stringMatching(says) as string,
    });
    expect(existsSync(path)).toBe(true);
  });

  test('can be had where the folder may be written, or where another has it', () => {
    const path = newLock();
    expect(canLock(path)).toBe(true);
    expect(existsSync(path)).toBe(false);
    writeFileSync(path, heldBy(process.ppid));
    expect(canLock(path)).toBe(true);
    expect(canLock(join(path, 'below a file'))).toBe(false);
  });
});
