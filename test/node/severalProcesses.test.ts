import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { entriesOf } from '../../src/night/record/entry.js';
import { appendToSession, lockPathOf, readSession } from '../../src/node/sessionFile.js';
import { generator } from '../axis/sightings.js';
import { note, start } from '../night/record/entries.js';

const script = fileURLToPath(new URL('appendInLoop.mjs', import.meta.url));
const newPath = (): string => join(mkdtempSync(join(tmpdir(), 'poleward session ')), 'poleward-session.jsonl');

interface Acknowledged { readonly line: number; readonly text: string }

/** A process that appends in a loop; `acknowledged` grows with what it said was recorded. */
function appender(path: string, name: string, count: number): {
  child: ChildProcess; acknowledged: () => Acknowledged[]; ended: Promise<number | null>; firstWord: Promise<void>; errors: () => string;
} {
  const child = spawn(process.execPath, [script, path, name, String(count)], { stdio: ['ignore', 'pipe', 'pipe'] });
  let out = '', err = '';
  child.stderr!.on('data', (d: Buffer) => { err += d.toString(); });
  const firstWord = new Promise<void>((resolve) => {
    child.stdout!.on('data', (d: Buffer) => { out += d.toString(); resolve(); });
    child.on('close', () => { resolve(); });
  });
  const ended = new Promise<number | null>((resolve) => { child.on('close', resolve); });
  // What a kill cut off was not said.
  const acknowledged = (): Acknowledged[] => out.split('\n').slice(0, -1).map((l) => JSON.parse(l) as Acknowledged);
  return { child, acknowledged, ended, firstWord, errors: () => err };
}

/** Every acknowledged entry stands at its line, whole. */
function expectKept(path: string, acknowledged: readonly Acknowledged[]): void {
  const notes = new Map(entriesOf(readSession(path)!.recorded, 'note').map((r) => [r.line, r.entry.text]));
  const lost = acknowledged.filter(({ line, text }) => notes.get(line) !== text);
  expect(lost).toEqual([]);
}

test('five processes that append at once lose nothing, mix nothing and begin the session once', async () => {
  const path = newPath();
  const all = [1, 2, 3, 4, 5].map((n) => appender(path, `writer${n}`, 40));
  const codes = await Promise.all(all.map((a) => a.ended));
  expect(all.map((a) => a.errors()).join('')).toBe('');
  expect(codes).toEqual([0, 0, 0, 0, 0]);
  const session = readSession(path)!;
  expect(session.warnings).toEqual([]);
  expect(entriesOf(session.recorded, 'start').length).toBe(1);
  expect(session.recorded.length).toBe(1 + 5 * 40);
  expectKept(path, all.flatMap((a) => a.acknowledged()));
  expect(readdirSync(dirname(path))).toEqual(['poleward-session.jsonl']);
});

test('30 processes killed at random moments lose nothing that they said was recorded, and rewrite nothing', async () => {
  const path = newPath();
  const { uniform } = generator(4);
  const kept: Acknowledged[] = [];
  let before = Buffer.alloc(0);
  let locksLeft = 0;
  for (let round = 0; round < 15; round++) {
    // Two at a time, so that one also finds the lock and the torn line that the other leaves.
    const pair = [appender(path, `r${round}a`, 1e6), appender(path, `r${round}b`, 1e6)];
    await Promise.all(pair.map(async (p) => {
      await p.firstWord;
      await new Promise((resolve) => { setTimeout(resolve, 12 * uniform()); });
      p.child.kill('SIGKILL');
      await p.ended;
      expect(p.errors()).toBe('');
    }));
    kept.push(...pair.flatMap((p) => p.acknowledged()));
    const now = readFileSync(path);
    expect(now.subarray(0, before.length).equals(before)).toBe(true);
    before = now;
    if (existsSync(lockPathOf(path))) locksLeft++;
  }
  // Else the kills would have missed every moment that matters.
  expect(locksLeft).toBeGreaterThan(0);
  expect(kept.length).toBeGreaterThanOrEqual(15);
  expectKept(path, kept);
  await appendToSession(path, [note('after all that')], start);
  expect(readFileSync(path).subarray(0, before.length).equals(before)).toBe(true);
  expectKept(path, kept);
  if (process.env['SHOW']) console.log({ kept: kept.length, locksLeft, bytes: before.length });
  expect(entriesOf(readSession(path)!.recorded, 'note').at(-1)!.entry.text).toBe('after all that');
}, 300_000);
