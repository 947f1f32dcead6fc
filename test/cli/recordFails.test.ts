import { copyFileSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { poleward, scratchFolder, writeNight } from './poleward.js';
import { watching } from './watching.js';

const frames = writeNight(scratchFolder(), { rotationsDeg: [0, 40, 80, 120], altitudeErrorArcmin: 12, azimuthErrorArcmin: -20 }, []);

/** A lock as another running program holds it: its process lives as long as the test. */
function holdLock(session: string): () => void {
  writeFileSync(`${session}.lock`, JSON.stringify({ pid: process.pid, host: hostname(), thread: 0, token: 'a' }));
  return () => rmSync(`${session}.lock`);
}

const looks = (session: string): number => readFileSync(session, 'utf8').split('\n')
  .filter((line) => line.includes('"kind":"look"')).length;

test('a record that another process holds costs recheck nothing but the record', () => {
  const folder = scratchFolder();
  const paths = frames.map((frame, i) => {
    const path = join(folder, `frame ${i + 1}.fits`);
    copyFileSync(frame, path);
    return path;
  });
  const session = join(folder, 'poleward-session.jsonl');
  expect(poleward('measure', ...paths.slice(0, 3), '--session', session).status).toBe(0);
  const free = holdLock(session);
  const { status, out } = poleward('recheck', paths[3]!, '--json');
  free();
  expect(status).toBe(0);
  const found = JSON.parse(out) as { recorded: string; axis: { fromTruePole: { altitudeArcmin: number } } };
  expect(found.axis.fromTruePole.altitudeArcmin).toBeCloseTo(12, 1);
  expect(found.recorded).toMatch(/^Not recorded: /);
  expect(looks(session)).toBe(3);
});

test('a watch keeps what it can\'t record, says so in each answer, and records it when it can', async () => {
  const folder = scratchFolder();
  const session = join(folder, 'poleward-session.jsonl');
  const free = holdLock(session);
  await watching(folder, [], async ({ answers, messages }) => {
    copyFileSync(frames[0]!, join(folder, 'frame 1.fits'));
    await messages(/first frame/);
    copyFileSync(frames[1]!, join(folder, 'frame 2.fits'));
    const [answer] = await answers(1);
    expect(answer!.recorded).toMatch(/^Not recorded: /);
    expect(answer!.axis.fromTruePole.altitudeArcmin).toBeCloseTo(12, 1);
    free();
    // Without another frame.
    await messages(/What could not be recorded is recorded now/);
  });
  expect(looks(session)).toBe(2);
});
