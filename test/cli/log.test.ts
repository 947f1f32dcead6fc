import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Command } from 'commander';
import { describe, expect, test, vi } from 'vitest';
import { addLogCommand } from '../../src/cli/log.js';
import { logText } from '../../src/tasks/log/logText.js';
import { type LaterEntry, type LookEntry, OLD_SCHEMA, type StartEntry } from '../../src/night/record/entry.js';
import { nightAsRecorded } from '../../src/night/record/nightOfSession.js';
import { appendToSession } from '../../src/node/sessionFile.js';
import { tellStory } from '../../src/night/record/story.js';
import { inventLooks } from '../night/inventedLooks.js';
import { lookEntry, looksStart, note, oldStart, recheck, rotation, sessionOf, turn } from '../night/record/entries.js';
import { scratchFolder } from './poleward.js';

/** An invented night: the axis found, two knobs turned, then the declination bumped, which the next turned look shows. */
const LOOKS = inventLooks(
  { altitude: 7, azimuth: -26 }, [{}, { west: 35 }, { west: 35 }, { east: 24.8 }, { raise: -6.7 }, { declination: 1.8 }, { west: 30 }],
).map(lookEntry);
const [first, second, third, afterAzimuth, afterAltitude, bumped, turned] =
  LOOKS as [LookEntry, LookEntry, LookEntry, LookEntry, LookEntry, LookEntry, LookEntry];
const NIGHT: readonly LaterEntry[] = [
  first, second, third, turn('azimuth', 0.5, 5, 25), afterAzimuth, note('wind got up', 7),
  turn('altitude', -0.25, 7.5, -7, true), afterAltitude, bumped, turned,
];
const textOf = (start: StartEntry, entries: readonly LaterEntry[], width = 60): string => {
  const session = sessionOf(start, ...entries);
  return logText(start, tellStory(session.recorded, nightAsRecorded(session), start.schema === OLD_SCHEMA ? 'refracted' : 'true'), width);
};
const text = (...entries: readonly LaterEntry[]): string => textOf(looksStart(), entries);

/** The same without line breaks. */
const flat = (...entries: readonly LaterEntry[]): string => text(...entries).replace(/\s+/g, ' ');

/** Of a session of version 1, which kept measurements and no looks. */
const old = (...entries: readonly LaterEntry[]): string => textOf(oldStart(), entries).replace(/\s+/g, ' ');

describe('the log for a person', () => {
  test('tells the night', () => {
    expect(text(...NIGHT)).toMatchInlineSnapshot(`
      "now 0.87′ ± 0.2″ off the true pole, 20:12 UTC
      altitude +0.30′ ± 0.5″, azimuth −1.20′ ± 0.1″
      18.95′ → 7.05′ → 0.87′ in 7 looks

      session begun 2026-11-25 20:00 UTC, 47.30° N 9.10° E

      20:00:00 look 1, frame-1.fits: 18.95′ off
        first frame of the night
        altitude +7.00′ ± 0.4″, azimuth −26.00′ ± 0.1″

      20:02:00 look 2, frame-2.fits: 18.95′ off
        turned 35.0° west in right ascension
        altitude +7.00′ ± 0.4″, azimuth −26.00′ ± 0.1″

      20:04:00 look 3, frame-3.fits: 18.95′ off
        turned 35.0° west in right ascension
        altitude +7.00′ ± 0.4″, azimuth −26.00′ ± 0.1″

      20:05:00  turned azimuth 0.50 turn clockwise, to move it
                25.0′ east
      20:06:00 look 4, frame-4.fits: 7.05′ off
        altitude +7.00′ ± 0.5″, azimuth −1.20′ ± 0.2″
        azimuth moved 24.80′ east ± 0.2″, expected 25.0′ east: 99
        %

      20:07:00  note: wind got up
      20:07:30  turned altitude 0.25 turn counter-clockwise, to
                move it 7.0′ down (advice taken as followed)
      20:08:00 look 5, frame-5.fits: 0.87′ off
        altitude +0.30′ ± 0.5″, azimuth −1.20′ ± 0.1″
        altitude moved 6.70′ down ± 0.6″, expected 7.0′ down: 96 %

      20:10:00 look 6, frame-6.fits: 0.87′ off
        the declination or the camera moved, the axis did not
        altitude +0.30′ ± 0.5″, azimuth −1.20′ ± 0.1″
        Corrected: frame-6.fits was answered wrongly: the
        declination or the camera had moved, not a knob. The axis
        was 0.30′ too high, 1.20′ too far west.

      20:12:00 look 7, frame-7.fits: 0.87′ off
        turned 30.0° west in right ascension
        altitude +0.30′ ± 0.5″, azimuth −1.20′ ± 0.1″"
    `);
  });

  test('before the bump was shown it is told as it was understood', () => {
    const out = flat(...NIGHT.slice(0, -1));
    expect(out).toMatch(/look 6, frame-6\.fits: .* the axis moved 1\.80′ up/);
    expect(out).not.toMatch(/Corrected/);
  });

  test('begins with where things stand', () => {
    expect(text().split('\n')[0]).toBe('nothing measured yet');
    expect(text(first).split('\n')[0]).toBe('nothing measured yet');
    expect(text(...NIGHT.slice(0, 5)).split('\n')[0]).toMatch(/^now 7\.0\d′ ± 0\.\d″ off the true pole, 20:06 UTC$/);
    expect(text(...NIGHT.slice(0, 4)).split('\n')[0]).toBe('a knob was turned since the last look: look again');
  });

  test('says what is in doubt, with what settles it', () => {
    const unclear = inventLooks({ altitude: 7, azimuth: -26 }, [{}, { west: 35 }, { west: 35 }, { camera: 6 }]).map(lookEntry);
    expect(flat(...unclear).split(' session begun')[0]).toMatch(
      /in doubt: A knob was turned before frame-4\.fits, or the declination moved: one frame can't tell\..* Turn the mount 20° or more in right ascension/,
    );
  });

  test('fits its columns and carries nothing that steers the terminal', () => {
    const rude = [
      turn('azimuth', -12.25, 22, -1234.5, true), note(`\u001b[31mred\u001b[0m ${'long words '.repeat(20)}`, 23),
      { ...turn('altitude', 0.5, 24, null), direction: 'toward the lamp' },
      { ...turned, look: { ...turned.look, file: 'x\u001b[2J\u0007.fits', utc: '2026-11-25T20:40:00.000Z' } },
    ];
    for (const out of [text(...NIGHT, ...rude), textOf(oldStart(), [rotation(0, 7, -26), ...rude.slice(0, 3), recheck(30, -400, 900)])]) {
      for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(60);
      expect(out).not.toMatch(/[^\P{Cc}\n]/u);
      expect(out).not.toMatch(/undefined|null|NaN/);
      expect(out).toContain('+0.50 turn (+ is toward the lamp)');
    }
    const wide = textOf(looksStart(), [...NIGHT, ...rude], 80);
    expect(Math.max(...wide.split('\n').map((line) => line.length))).toBeGreaterThan(60);
    expect(Math.max(...wide.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
  });

  test('says what a turn did against what was expected', () => {
    const did = (turns: number, expected: number | null, east: number): string => {
      const looks = inventLooks({ altitude: 7, azimuth: -26 }, [{}, { west: 35 }, { west: 35 }, { east }]).map(lookEntry);
      return flat(...looks.slice(0, 3), turn('azimuth', turns, 5, expected), looks[3]!);
    };
    expect(did(0.5, 25, 25)).toMatch(/azimuth moved 25\.0\d?′ east ± 0\.\d″, expected 25\.0′ east: 100 %/);
    expect(did(0.5, 25, -10)).toMatch(/azimuth moved 10\.0\d?′ west ± 0\.\d″, expected 25\.0′ east: the other way/);
    expect(did(0.5, 25, 0)).toContain('it did not move');
    expect(did(0.5, null, 25)).toMatch(/azimuth moved 25\.0\d?′ east ± 0\.\d″$/);
  });

  test('shows a movement that no turn explains, and one that went along', () => {
    const moved = (raise: number, east: number, ...done: readonly LaterEntry[]): string => {
      const looks = inventLooks({ altitude: 7, azimuth: -26 }, [{}, { west: 35 }, { west: 35 }, { raise, east }]).map(lookEntry);
      return flat(...looks.slice(0, 3), ...done, looks[3]!);
    };
    expect(moved(0, 6)).toMatch(/look 4, frame-4\.fits: \S+ off the axis moved (6\.0|5\.9)\d′ east/);
    expect(moved(0, 0)).toMatch(/look 4, frame-4\.fits: \S+ off nothing moved/);
    expect(moved(-1, 25, turn('azimuth', 0.5, 5, 25))).toMatch(/altitude also moved by 1\.0\d′ down, though not turned/);
  });

  test('says where the last move made it worse', () => {
    const course = (raise: number): string =>
      flat(...inventLooks({ altitude: 1, azimuth: 1 }, [{}, { west: 35 }, { west: 35 }, { raise }]).map(lookEntry));
    expect(course(4)).toMatch(/1\.\d+′ → 5\.\d+′ in 4 looks; the last move made it worse/);
    expect(course(-0.8)).toMatch(/1\.\d+′ → 0\.\d+′ in 4 looks(?!; the last move)/);
    expect(course(0)).not.toMatch(/→|the last move/);
  });
});

describe('the log of a session of version 1', () => {
  test('tells measurements, turns and what they did', () => {
    const out = old(
      rotation(0, 7, -26), turn('azimuth', 0.5, 3, 25), recheck(5, 7, -1.2), turn('altitude', -0.25, 7, -7, true), recheck(9, 0.3, -1.2),
    );
    expect(out).toMatch(
      /^now 0\.88′ ± 1\.2″ off the refracted pole, 20:09 UTC altitude \+0\.30′ ± 1\.2″, azimuth −1\.20′ ± 1\.2″ 19\.22′ → 7\.05′ → 0\.88′ in 3 looks/,
    );
    expect(out).toContain('azimuth moved 24.80′ east ± 1.3″, expected 25.0′ east: 99 %');
    expect(out).toContain('altitude moved 6.70′ down ± 1.7″, expected 7.0′ down: 96 %');
  });

  test('tells moves that no turn was recorded for', () => {
    expect(old(rotation(0, 7, -26), recheck(5, 8, -20))).toContain('the axis moved 1.00′ up, 6.00′ east, and no turn was recorded');
    expect(old(rotation(0, 7, -26), recheck(5, 7.01, -26))).not.toContain('no turn was recorded');
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
    await appendToSession(path, NIGHT.slice(0, 5), looksStart);
    writeFileSync(path, '{"kind":"note","at":"2026-1', { flag: 'a' });
    const { out, err } = await run('--session', path);
    const refracted = (words: string): string => words.replace(/[\d.]+/g, '#');
    const todo = 'azimuth first: move the axis 1.2′ east, right as you face\n  the pole\nthen altitude: move the axis 6.9′ down\n\n'
      + 'next: Turn azimuth, save a frame.\n\n';
    const told = text(...NIGHT.slice(0, 5)).replace('true pole', 'refracted pole').replace('session begun', `${todo}session begun`);
    expect(refracted(out)).toBe(refracted(`${told}\n`));
    expect(err.replace(/\s+/g, ' ')).toContain('last line (7) was cut off');
    const json = JSON.parse((await run('--session', path, '--json')).out) as Record<string, unknown>;
    expect(json).toMatchObject({
      schema: 'poleward/log-1', file: path, hemisphere: 'north', version: '0.1.0',
      now: {
        file: 'frame-4.fits', error: { azimuthArcmin: expect.closeTo(-1.2, 1) as number },
        effects: [{ knob: 'azimuth', expectedArcmin: 25 }],
        happened: { what: 'knob' }, doubts: [], correction: null,
      },
      looks: [
        { happened: { what: 'first' }, moved: null }, { happened: { what: 'turned' } }, { happened: { what: 'turned' } },
        { happened: { what: 'knob' } },
      ],
      warnings: [{ code: 'line-torn', line: 7 }],
    });
  });

  test('shows a session of version 1', async () => {
    const path = join(scratchFolder(), 's.jsonl');
    await appendToSession(path, [rotation(0, 7, -26), turn('azimuth', 0.5, 3, 25), recheck(5, 7, -1.2)], oldStart);
    expect((await run('--session', path)).out.split('\n')[0]).toBe('now 7.05′ ± 1.2″ off the refracted pole, 20:05 UTC');
    expect(JSON.parse((await run('--session', path, '--json')).out)).toMatchObject({
      schema: 'poleward/log-1', now: { happened: null, error: { azimuthArcmin: -1.2 } },
      looks: [{ moved: null }, { effects: [{ expectedArcmin: 25 }] }],
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
