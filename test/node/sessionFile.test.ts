import { appendFileSync, mkdtempSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { answersIn, cautionsShown, entriesOf } from '../../src/night/record/entry.js';
import { appendToSession, lockPathOf, readSession } from '../../src/node/sessionFile.js';
import { inventLooks } from '../night/inventedLooks.js';
import { lookEntry, note, oldStart, recheck, rotation, start, turn } from '../night/record/entries.js';

const newPath = (): string => join(mkdtempSync(join(tmpdir(), 'poleward session ')), 'nächte 1.jsonl');

describe('a session file', () => {
  test('is null before anything was recorded', () => {
    expect(readSession(newPath())).toBeNull();
  });

  test('gives back what was appended, with the lines it was told', async () => {
    const path = newPath();
    const turned = { west: 35, said: { did: 'turned-only', knobs: [] } } as const;
    const looks = inventLooks({ altitude: 7, azimuth: -26, stars: 20 }, [{}, turned]).map(lookEntry);
    const entries = [
      looks[0]!, turn('azimuth', 0.5, 3, 25, true), { kind: 'caution', at: start().at, caution: 'hold-tube' } as const,
    ];
    const first = await appendToSession(path, entries, start);
    const second = await appendToSession(path, [looks[1]!, note('dew « ′ »\nsecond line')], start);
    const session = readSession(path)!;
    expect(session.warnings).toEqual([]);
    expect(session.recorded).toEqual([...first, ...second]);
    expect(session.recorded.map((r) => r.line)).toEqual([1, 2, 3, 4, 5, 6]);
    expect(session.start).toEqual(start());
    expect(entriesOf(session.recorded, 'look').map((r) => r.entry)).toEqual(looks);
    expect(answersIn(session.recorded)).toEqual([]);
    expect(cautionsShown(session.recorded)).toEqual(new Set(['hold-tube']));
    expect(entriesOf(session.recorded, 'turn').map((r) => r.entry)).toEqual([entries[1]]);
  });

  test('of version 1 is read, and told to be one', async () => {
    const path = newPath();
    const entries = [rotation(0, 7, -26), turn('azimuth', 0.5, 3, 25, true), recheck(5, 7, -1)];
    await appendToSession(path, entries, oldStart);
    const session = readSession(path)!;
    expect(session.warnings).toEqual([]);
    expect(session.start).toEqual(oldStart());
    expect(readFileSync(path, 'utf8')).toMatch(/^\{"schema":"poleward\/session-1"/);
    expect(answersIn(session.recorded).map((r) => r.entry)).toEqual([entries[0], entries[2]]);
  });

  test('has the schema first, on the first line only', async () => {
    const path = newPath();
    await appendToSession(path, [note('a'), note('b')], start);
    const lines = readFileSync(path, 'utf8').split('\n');
    expect(lines[0]).toMatch(/^\{"schema":"poleward\/session-2","kind":"start"/);
    expect(lines.slice(1).join()).not.toContain('schema');
  });

  test('cut at any byte loses only the lines cut, says so, and takes new entries on a line of their own', async () => {
    const path = newPath();
    await appendToSession(path, [note('früh'), note('später')], start);
    const whole = readFileSync(path);
    for (let cut = 0; cut < whole.length; cut++) {
      writeFileSync(path, whole.subarray(0, cut));
      const before = readSession(path);
      const kept = before?.recorded ?? [];
      const lines = whole.subarray(0, cut).toString('utf8').split('\n');
      expect(kept.length).toBeGreaterThanOrEqual(lines.length - 1);
      const torn = kept.length < lines.length && lines.at(-1) !== '';
      if (before) expect(before.warnings.map((w) => w.code)).toEqual(torn ? ['line-torn'] : []);
      const [added] = (await appendToSession(path, [note('danach')], start)).slice(-1);
      const bytes = readFileSync(path);
      expect(bytes.subarray(0, cut).equals(whole.subarray(0, cut))).toBe(true);
      const afterwards = readSession(path)!;
      expect(afterwards.recorded.slice(0, kept.length)).toEqual(kept);
      expect(afterwards.recorded.at(-1)).toEqual(added);
      expect(afterwards.warnings.map((w) => w.code)).toEqual(torn ? ['line-unreadable'] : []);
    }
  });

  test('keeps its other lines when one in the middle is unreadable, and names it', async () => {
    const path = newPath();
    await appendToSession(path, [note('one')], start);
    appendFileSync(
      path, 'scribble\n{"kind":"turn","at":"2026-11-25T20:00:00.000Z"}\n{"kind":"dance","at":"2026-11-25T20:00:00.000Z"}\n[]\n\n',
    );
    const [two] = await appendToSession(path, [note('two')], start);
    const { recorded, warnings } = readSession(path)!;
    expect(recorded.map((r) => r.line)).toEqual([1, 2, 8]);
    expect(two!.line).toBe(8);
    expect(warnings.map((w) => w.message.slice(0, 70))).toEqual([
      expect.stringContaining('Line 3 of the session is not JSON'),
      expect.stringContaining('Line 4 of the session is not a complete turn'),
      expect.stringContaining('Line 5 of the session is of a kind'),
      expect.stringContaining('Line 6 of the session is not a JSON object'),
    ]);
  });

  test('counts a last line that lacks only its end', async () => {
    const path = newPath();
    await appendToSession(path, [note('one')], start);
    writeFileSync(path, readFileSync(path).subarray(0, -1));
    expect(readSession(path)!.recorded.length).toBe(2);
    await appendToSession(path, [note('two')], start);
    expect(readSession(path)!.recorded.map((r) => r.line)).toEqual([1, 2, 3]);
  });

  test('that is something else is refused and left alone', async () => {
    fc.assert(fc.property(fc.string({ minLength: 1 }).filter(
      (s) => ![1, 2].some((version) => `{"schema":"poleward/session-${version}"`.startsWith(s.split('\n')[0]!)),
    ), (text) => {
      const path = newPathOnce;
      writeFileSync(path, text);
      expect(() => readSession(path)).toThrow(expect.objectContaining({ code: 'session-unreadable' }));
    }), { numRuns: 50 });
    const path = newPath();
    writeFileSync(path, 'my observing notes\n');
    await expect(appendToSession(path, [note('x')], start)).rejects.toMatchObject({ code: 'session-unreadable' });
    expect(readFileSync(path, 'utf8')).toBe('my observing notes\n');
    expect(() => statSync(lockPathOf(path))).toThrow();
  });

  test('in a place that can\'t be written is refused in words', async () => {
    const file = newPath();
    writeFileSync(file, 'a file, not a folder');
    await expect(appendToSession(join(file, 'session.jsonl'), [note('x')], start)).rejects.toMatchObject({ code: 'session-unwritable' });
    await expect(appendToSession(join(file, '..'), [note('x')], start)).rejects.toMatchObject({ code: 'session-unwritable' });
    await expect(appendToSession(`${file}/../missing/session.jsonl`, [note('x')], start)).rejects.toThrow(/its folder does not exist/);
  });

  test('takes no entry that could not be read again', async () => {
    const path = newPath();
    await expect(appendToSession(path, [turn('azimuth', NaN, 1, null)], start)).rejects.toThrow(TypeError);
    expect(readSession(path)).toBeNull();
    await appendToSession(path, [note('fine')], start);
    expect(readSession(path)!.recorded.length).toBe(2);
  });
});

const newPathOnce = newPath();
