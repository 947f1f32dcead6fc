/** Nights that go wrong, through the whole program: one sentence what is wrong, one what to do, nothing lost. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { copyFileSync, existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { skyFramePaths, skyTruth } from '../skies.js';
import { poleward, scratchFolder, writeNight } from './poleward.js';
import type { Out } from './watching.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const frames = skyFramePaths('adjusting');
const { site } = skyTruth('adjusting');
const PLACE = ['--latitude', `${site.latitudeDeg}`, '--longitude', `${site.longitudeDeg}`, '--elevation', `${site.elevationMetres}`];
const WORDS = [...PLACE, '--pressure', `${site.pressureHectopascal}`, '--temperature', `${site.temperatureCelsius}`];
const VERSION_1 = fileURLToPath(new URL('../../testdata/session/version-1.jsonl', import.meta.url));
const flat = (text: string): string => text.replace(/\s+/g, ' ');

function expectAt({ axis: { fromTruePole } }: Out, altitude: number, azimuth: number): void {
  expect(Math.abs(fromTruePole.altitudeArcmin - altitude) * 60).toBeLessThan(3);
  expect(Math.abs(fromTruePole.azimuthArcmin - azimuth) * 60 * Math.cos(39.2 * Math.PI / 180)).toBeLessThan(3);
}
function refused(ran: ReturnType<typeof poleward>, says: RegExp): void {
  expect(ran.status).toBe(1);
  expect(flat(ran.err)).toMatch(says);
  expect(ran.err).not.toMatch(/\n\s+at |undefined|NaN/);
}
/** The frames of the night in a folder of their own. */
function folderOfFrames(): string {
  const folder = scratchFolder();
  frames.forEach((file, i) => { copyFileSync(file, join(folder, `frame-${i + 1}.fits`)); });
  return folder;
}

describe('a session of version 1', () => {
  const folder = folderOfFrames();
  const old = join(folder, 'poleward-session.jsonl');
  copyFileSync(VERSION_1, old);

  test('goes on: a frame more is answered by the camera that it knew, the file stays as it was, a new one is begun beside it', () => {
    const ran = poleward('recheck', join(folder, 'frame-5.fits'), '--json');
    expect(ran.status, ran.err).toBe(0);
    expectAt(JSON.parse(ran.out) as Out, 7, -1);
    expect(readFileSync(old).equals(readFileSync(VERSION_1))).toBe(true);
    expect(readdirSync(folder).filter((name) => name.endsWith('.jsonl')).sort()).toEqual([
      'poleward-session-2.jsonl', 'poleward-session.jsonl',
    ]);
    const [start, ...rest] = readFileSync(join(folder, 'poleward-session-2.jsonl'), 'utf8').trim().split('\n')
      .map((line) => JSON.parse(line) as { kind: string });
    expect(start).toMatchObject({ schema: 'poleward/session-2', kind: 'start' });
    expect(rest.map(({ kind }) => kind).filter((kind) => kind !== 'caution')).toEqual(['look', 'answer']);
    // And goes on from there.
    const again = poleward('recheck', join(folder, 'frame-5.fits'), '--json');
    expect(again.status, again.err).toBe(0);
    expectAt(JSON.parse(again.out) as Out, 7, -1);
  });

  test('is shown by the log', () => {
    const log = flat(poleward('log', '--session', old).out);
    expect(log).toMatch(
      /^now 20\.98′ ± 0\.1″ off the refracted pole.* turned altitude 0\.25 turn counter-clockwise .* altitude moved 11\.00′ down/,
    );
  });
});

describe('a session with a damaged line', () => {
  test('says which, uses the rest, and keeps it in the file', () => {
    const folder = folderOfFrames();
    const session = join(folder, 'poleward-session.jsonl');
    expect(poleward('measure', ...[1, 2, 3].map((n) => join(folder, `frame-${n}.fits`)), ...WORDS, '--session', session).status).toBe(0);
    const lines = readFileSync(session, 'utf8').trim().split('\n');
    const second = lines.map((line, i) => ({ line, i })).filter(({ line }) => line.startsWith('{"kind":"look"'))[1]!.i;
    lines[second] = lines[second]!.replace('"pose":[', '"pose":[\0');
    writeFileSync(session, `${lines.join('\n')}\n`);
    const ran = poleward('recheck', join(folder, 'frame-4.fits'), ...WORDS, '--json');
    expect(ran.status, ran.err).toBe(0);
    expectAt(JSON.parse(ran.out) as Out, 7, -26);
    const says = new RegExp(`Line ${second + 1} of the session is not JSON, and is left out`);
    expect(flat(`${ran.err} ${(JSON.parse(ran.out) as Out).warnings.map((w) => w.message).join(' ')}`)).toMatch(says);
    expect(flat(poleward('log', '--session', session).err)).toMatch(says);
    expect(readFileSync(session, 'utf8').split('\n')[second]).toBe(lines[second]);
  });
});

describe('looks that make no night', () => {
  const session = join(scratchFolder(), 'night.jsonl');

  test('frames that were not turned are refused, and the session is not begun', () => {
    refused(
      poleward('measure', frames[3]!, frames[4]!, ...WORDS, '--session', session),
      /The mount was not turned between these frames .* Turn it in right ascension by 30° or more/,
    );
    expect(existsSync(session)).toBe(false);
  });

  test('frames of another site are refused, with both ways out', () => {
    const other = join(scratchFolder(), 'other.jsonl');
    expect(poleward('measure', ...frames.slice(0, 3), ...WORDS, '--session', other).status).toBe(0);
    const before = readFileSync(other);
    refused(
      poleward('recheck', frames[3]!, '--latitude', '44', '--longitude', '7', '--session', other),
      /was made at another site .*--new-session/,
    );
    expect(readFileSync(other).equals(before)).toBe(true);
  });
});

describe('frames of two practice nights that have the same times', () => {
  const practice = (altitudeErrorArcmin: number): string[] =>
    writeNight(scratchFolder(), { altitudeErrorArcmin, azimuthErrorArcmin: -20 }, []);
  const [night, other] = [practice(12), practice(30)];
  const session = join(scratchFolder(), 'night.jsonl');
  const says = /frame 1\.fits and another frame of that name in this night were both taken at 20:00:02 UTC by their times, yet the camera is turned by 18\.0\d?′ between them\. One camera can't take both: .* begin a new night \(--new-session\)/;

  test('are not mixed into one night: the second is refused, and the record stays as it was', () => {
    expect(poleward('measure', ...night, '--session', session).status).toBe(0);
    const before = readFileSync(session);
    refused(
      poleward('measure', ...other, '--session', session),
      /frame 1\.fits, \S.*frame 3\.fits: this night has other frames of the same moments, .* begin a new night \(--new-session\)/,
    );
    refused(poleward('recheck', other[0]!, '--session', session), says);
    expect(readFileSync(session).equals(before)).toBe(true);
  });

  test('given together: those listed first are measured, the others are named as left out', () => {
    const ran = poleward('measure', ...night, other[0]!, '--json');
    expect(ran.status, ran.err).toBe(0);
    const { axis, warnings } = JSON.parse(ran.out) as Out;
    expect(axis.fromTruePole.altitudeArcmin).toBeCloseTo(12, 1);
    expect(warnings.map(({ code }) => code)).toEqual(['frame-skipped']);
    expect(warnings[0]!.message).toMatch(says);
  });
});

test('two programs on one night at once: both answer, every frame is recorded once, no line is torn', async () => {
  const folder = folderOfFrames();
  const session = join(folder, 'night.jsonl');
  expect(poleward('measure', ...[1, 2, 3].map((n) => join(folder, `frame-${n}.fits`)), ...WORDS, '--session', session).status).toBe(0);
  const statuses = await Promise.all([4, 5].map(async (n) => {
    const child = spawn(
      process.execPath, [main, 'recheck', join(folder, `frame-${n}.fits`), ...WORDS, '--session', session], { stdio: 'ignore' },
    );
    return (await once(child, 'exit') as [number])[0];
  }));
  expect(statuses).toEqual([0, 0]);
  const entries = readFileSync(session, 'utf8').trim().split('\n').map(
    (line) => JSON.parse(line) as { kind: string; look?: { file: string } },
  );
  expect(entries.flatMap(({ look }) => (look ? [look.file] : [])).sort()).toEqual([1, 2, 3, 4, 5].map((n) => `frame-${n}.fits`));
  const last = JSON.parse(poleward('recheck', join(folder, 'frame-5.fits'), ...WORDS, '--session', session, '--json').out) as Out;
  expectAt(last, 7, -1);
});
