import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Command } from 'commander';
import { describe, expect, test, vi } from 'vitest';
import { addLogCommand } from '../../src/cli/log.js';
import { logText } from '../../src/tasks/log/logText.js';
import type { SessionEntry } from '../../src/night/record/entry.js';
import { appendToSession } from '../../src/node/sessionFile.js';
import { tellStory } from '../../src/night/record/story.js';
import { note, recheck, rotation, start, turn } from '../night/record/entries.js';
import { scratchFolder } from './poleward.js';

/** An invented evening: two knobs turned, then a measurement that shows that the camera was bumped. */
const EVENING: readonly SessionEntry[] = [
  rotation(0, 7, -26), turn('azimuth', 0.5, 3, 25), recheck(2, 5, 7, -1.2), note('wind got up', 6),
  turn('altitude', -0.25, 7, -7, true), recheck(2, 9, 0.3, -1.2), rotation(20, 2.1, -1.25),
];
const text = (...entries: readonly SessionEntry[]): string =>
  logText(start(), tellStory([start(), ...entries].map((entry, i) => ({ line: i + 1, entry }))));

/** The same without line breaks. */
const flat = (...entries: readonly SessionEntry[]): string => text(...entries).replace(/\s+/g, ' ');

describe('the log for a person', () => {
  test('tells the evening', () => {
    expect(text(...EVENING)).toMatchInlineSnapshot(`
      "now 2.27′ off the refracted pole ± 0.6″, 20:20 UTC
      altitude +2.10′ ± 0.6″, azimuth −1.25′ ± 0.6″
      19.22′ → 7.05′ → 0.88′ → 2.27′ in 4 looks
      this contradicts the recheck before it, see below

      session begun 2026-11-25 20:00 UTC, 46.50° N 11.20° E

      20:00:00  measured with rotation, 3 frames: 19.22′ off
        altitude +7.00′ ± 0.6″, azimuth −26.00′ ± 0.6″

      20:03:00  turned azimuth 0.50 turn clockwise, to move it
                25.0′ east
      20:05:00  rechecked, 1 frame: 7.05′ off
        altitude +7.00′ ± 1.2″, azimuth −1.20′ ± 1.2″
        azimuth moved 24.80′ east ± 1.3″, expected 25.0′ east: 99%

      20:06:00  note: wind got up
      20:07:00  turned altitude 0.25 turn counter-clockwise, to
                move it 7.0′ down (advice taken as followed)
      20:09:00  rechecked, 1 frame: 0.88′ off
        altitude +0.30′ ± 1.2″, azimuth −1.20′ ± 1.2″
        altitude moved 6.70′ down ± 1.7″, expected 7.0′ down: 96%

      20:20:00  measured with rotation, 3 frames: 2.27′ off
        altitude +2.10′ ± 0.6″, azimuth −1.25′ ± 0.6″
        1.80′ up, 0.05′ west of where the recheck had it: more
        than the errors of both. One frame can't tell a bump in
        declination from a knob: the camera or the declination
        axis was moved before the recheck, or the mount was moved
        after it. Trust this measurement."
    `);
  });

  test('begins with where things stand', () => {
    expect(text().split('\n')[0]).toBe('nothing measured yet');
    expect(text(...EVENING.slice(0, 3)).split('\n')[0]).toBe('now 7.05′ off the refracted pole ± 1.2″, 20:05 UTC');
    expect(text(...EVENING.slice(0, 2)).split('\n')[0]).toBe('a knob was turned since the last look: look again');
  });

  test('fits 60 columns and carries nothing that steers the terminal', () => {
    const out = text(...EVENING, turn('azimuth', -12.25, 22, -1234.5, true), note(`\u001b[31mred\u001b[0m ${'long words '.repeat(20)}`, 23),
      { ...turn('altitude', 0.5, 24, null), direction: 'toward the lamp' }, recheck(8, 30, -400, 900));
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(60);
    expect(out).not.toMatch(/[^\P{Cc}\n]/u);
    expect(out).not.toMatch(/undefined|null|NaN/);
    expect(out).toContain('+0.50 turn (+ is toward the lamp)');
  });

  test('says what a turn did against what was expected', () => {
    const did = (turned: number, expected: number | null, azimuth: number): string => flat(rotation(0, 7, -26), turn('azimuth', turned, 3, expected), recheck(2, 5, 7, azimuth));
    expect(did(0.5, 25, -1)).toContain('azimuth moved 25.00′ east ± 1.3″, expected 25.0′ east: 100%');
    expect(did(0.5, 25, -36)).toContain('the other way');
    expect(did(0.5, 25, -26)).toContain('it did not move');
    expect(did(0.5, null, -1)).toMatch(/azimuth moved 25\.00′ east ± 1\.3″$/);
  });

  test('shows a movement that no turn explains', () => {
    expect(flat(rotation(0, 7, -26), recheck(2, 5, 7, -20))).toContain('no turn was recorded');
    expect(flat(rotation(0, 7, -26), recheck(2, 5, 7.01, -26))).not.toContain('no turn was recorded');
    expect(flat(rotation(0, 7, -26), turn('azimuth', 0.5, 3, 25), recheck(2, 5, 6, -1))).toContain('altitude went along by 1.00′ '
      + 'down, though not turned');
  });

  test('says where the last look made it worse or no different', () => {
    expect(flat(rotation(0, 1, 1), recheck(2, 5, 5, 1))).toContain('in 2 looks; the last made it worse');
    expect(flat(rotation(0, 1, 1), recheck(2, 5, 1.01, 1))).toContain('the last made no difference that can be told');
    expect(flat(rotation(0, 7, -26), recheck(2, 5, 1, 1))).not.toContain('the last made');
  });
});

describe('poleward log', () => {
  /** Runs the command in this process and takes what it prints. */
  async function run(...words: string[]): Promise<{ out: string; err: string }> {
    let out = '', err = '';
    const stdout = vi.spyOn(process.stdout, 'write').mockImplementation((s) => { out += String(s); return true; });
    const stderr = vi.spyOn(process.stderr, 'write').mockImplementation((s) => { err += String(s); return true; });
    try {
      const program = new Command().exitOverride();
      addLogCommand(program);
      await program.parseAsync(['log', ...words], { from: 'user' });
    } finally {
      stdout.mockRestore();
      stderr.mockRestore();
    }
    return { out, err };
  }

  test('shows a session file, and its torn end as a warning', async () => {
    const path = join(scratchFolder(), 's.jsonl');
    await appendToSession(path, EVENING.slice(0, 3) as Exclude<SessionEntry, { kind: 'start' }>[], start);
    writeFileSync(path, '{"kind":"note","at":"2026-1', { flag: 'a' });
    const { out, err } = await run('--session', path);
    expect(out).toBe(`${text(...EVENING.slice(0, 3))}\n`);
    expect(err.replace(/\s+/g, ' ')).toContain('last line (5) was cut off');
    const json = JSON.parse((await run('--session', path, '--json')).out) as Record<string, unknown>;
    expect(json).toMatchObject({
      schema: 'poleward/log-1', file: path, hemisphere: 'north', version: '0.1.0',
      now: { how: 'recheck', framesUsed: 1, error: { azimuthArcmin: -1.2 }, effects: [{ knob: 'azimuth', expectedArcmin: 25 }] },
      steps: [{ how: 'rotation', moved: null }, { how: 'recheck' }], warnings: [{ code: 'line-torn', line: 5 }],
    });
  });

  test('refuses what is no session, in words', async () => {
    const folder = scratchFolder();
    const missing = join(folder, 'none.jsonl'), other = join(folder, 'other.txt'), empty = join(folder, 'empty.jsonl');
    writeFileSync(other, 'clear skies\n');
    writeFileSync(empty, '');
    await expect(run('--session', missing)).rejects.toMatchObject({ code: 'no-session' });
    await expect(run('--session', other)).rejects.toMatchObject({ code: 'session-unreadable' });
    await expect(run('--session', empty)).rejects.toMatchObject({ code: 'no-session' });
    await expect(run('--session', folder)).rejects.toMatchObject({ code: 'session-unreadable' });
  });
});
