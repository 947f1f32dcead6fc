/**
 * One night, one understanding, through the whole program: the frames of testdata/skies/adjusting (three turned in right ascension, then
 * the altitude knob 11′ down, then the azimuth knob 25′ east), looked at in every way in which a person can.
 */
import { copyFileSync, readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { skyFramePaths, skyTruth } from '../skies.js';
import { poleward, scratchFolder } from './poleward.js';
import { type Out, watching } from './watching.js';

const frames = skyFramePaths('adjusting');
const { site } = skyTruth('adjusting');
const WORDS = ['--latitude', `${site.latitudeDeg}`, '--longitude', `${site.longitudeDeg}`, '--elevation', `${site.elevationMetres}`,
  '--pressure', `${site.pressureHectopascal}`, '--temperature', `${site.temperatureCelsius}`];
const TRUTH = [null, [18, -26], [18, -26], [7, -26], [7, -1]] as const;
const TAKEN = ['first', 'turned', 'turned', 'knob', 'knob'];

const nameOf = (n: number): string => `frame-${n}.fits`;
function put(folder: string, ...numbers: readonly number[]): void {
  for (const n of numbers) copyFileSync(frames[n - 1]!, join(folder, nameOf(n)));
}
function run(folder: string, command: string, ...numbers: readonly number[]): Out {
  const paths = numbers.map((n) => join(folder, nameOf(n)));
  const ran = poleward(command, ...paths, ...WORDS, '--session', join(folder, 'poleward-session.jsonl'), '--json');
  expect(ran.status, ran.err).toBe(0);
  return JSON.parse(ran.out) as Out;
}
/** All that an answer says of the axis and the hands. */
const saidOf = ({ axis, doubts, verdict, next, knobs }: Out): unknown => ({ axis, doubts, verdict, next, knobs });
/**
 * Looks as the session of a folder keeps them, without the time at which they were written down and what was said to have been done.
 * The last digits of a look's own pose and lens depend on where the search for the stars began: they are left out.
 */
const looksIn = (folder: string): unknown[] => readFileSync(join(folder, 'poleward-session.jsonl'), 'utf8').trim().split('\n')
  .map((line) => JSON.parse(line) as { kind: string; look: { pose: number[]; lens: { focalPixels: number } }; frame: string })
  .filter((entry) => entry.kind === 'look').map(({ look, frame }) => ({
    ...look, said: undefined, frame, pose: look.pose.map((v) => v.toFixed(8)),
    lens: { ...look.lens, focalPixels: look.lens.focalPixels.toFixed(3) },
  }));
function expectTruth({ axis: { fromTruePole } }: Out, n: number): void {
  const [altitude, azimuth] = TRUTH[n - 1]!;
  expect(Math.abs(fromTruePole.altitudeArcmin - altitude) * 60).toBeLessThan(3);
  expect(Math.abs(fromTruePole.azimuthArcmin - azimuth) * 60 * Math.cos(39.2 * Math.PI / 180)).toBeLessThan(3);
}

describe('one night, looked at in every way', async () => {
  const commands = scratchFolder();
  put(commands, 1, 2, 3, 4, 5);
  const measured = run(commands, 'measure', 1, 2, 3);
  const rechecked = [run(commands, 'recheck', 4), run(commands, 'recheck', 5)] as const;

  // Each frame is saved when the one before it was answered.
  const watched = scratchFolder();
  const live: Out[] = [];
  const watch = await watching(watched, WORDS, async ({ answers, messages }) => {
    for (const n of [1, 2, 3, 4, 5]) {
      put(watched, n);
      if (n === 1) await messages(/frame-1\.fits: first frame of the night/);
      else live.push((await answers(n - 1)).at(-1)!);
    }
  });

  test('is answered with the truth, whatever the way', () => {
    expect(watch.status).toBe(0);
    expectTruth(measured, 3);
    rechecked.forEach((out, i) => { expectTruth(out, 4 + i); });
    live.forEach((out, i) => { expectTruth(out, 2 + i); expect(out.taken).toBe(TAKEN[i + 1]); });
  });

  test('measure, recheck and watch say the same to the last digit', () => {
    expect(saidOf(live[1]!)).toEqual(saidOf(measured));
    rechecked.forEach((out, i) => { expect(saidOf(live[2 + i]!)).toEqual(saidOf(out)); });
    expect(looksIn(watched)).toEqual(looksIn(commands));
  });

  test('the log of each says the same', () => {
    const log = (folder: string): string =>
      poleward('log', '--session', join(folder, 'poleward-session.jsonl')).out.replace(/session begun .*? UTC/, '');
    expect(log(watched)).toBe(log(commands));
    expect(log(watched)).toMatch(/^now (\d+\.\d+)′ ± [\d.]+″ off/);
    const { separationArcmin } = rechecked[1].axis.fromRefractedPole;
    expect(Number(/^now (\d+\.\d+)′ ± [\d.]+″ off/.exec(log(watched))![1])).toBeCloseTo(separationArcmin, 2);
  });

  test('a watch that is ended and started again after every frame says what one watch says', async () => {
    const folder = scratchFolder();
    const restarted: Out[] = [];
    for (const n of [1, 2, 3, 4, 5]) {
      const { status } = await watching(folder, WORDS, async ({ answers, messages }) => {
        put(folder, n);
        if (n === 1) await messages(/first frame of the night/);
        else restarted.push((await answers(1))[0]!);
      });
      expect(status).toBe(0);
    }
    expect(restarted.map((out) => [saidOf(out), out.taken])).toEqual(live.map((out) => [saidOf(out), out.taken]));
    expect(looksIn(folder)).toEqual(looksIn(watched));
  });

  test('a replay of the folder gives each look what was said that night, in the order of the looks', async () => {
    const folder = scratchFolder();
    put(folder, 5, 3, 1, 2, 4);
    let replayed: Out[] = [];
    await watching(folder, [...WORDS, '--all'], async ({ answers }) => { replayed = await answers(4); });
    const told = (outs: readonly Out[]): unknown[] => outs.map((out) => [out.frames[0]!.utc, saidOf(out), out.taken]);
    expect(told(replayed)).toEqual(told(live));
    expect(looksIn(folder)).toEqual(looksIn(watched));
  });

  test('a replay of what is recorded already records nothing and says so', async () => {
    const before = readFileSync(join(watched, 'poleward-session.jsonl'));
    const { out } = await watching(watched, [...WORDS, '--all'], async ({ messages }) => {
      await messages(/frame-5\.fits: in the night's record already/);
    });
    for (const n of [1, 2, 3, 4, 5]) expect(out).toContain(`frame-${n}.fits: in the night's record already`);
    expect(out).not.toContain('poleward/measurement-1');
    expect(readFileSync(join(watched, 'poleward-session.jsonl')).equals(before)).toBe(true);
    // Nor does looking again, in whatever order: the answer is that of the night's last look.
    const again = run(watched, 'recheck', 4, 1);
    expect(saidOf(again)).toEqual(saidOf(live.at(-1)!));
    expect(again.warnings.filter((w) => w.code === 'known-look').map((w) => w.message)).toEqual([
      'In the night\'s record already: frame-1.fits, frame-4.fits. Nothing was recorded twice.',
    ]);
    expect(readFileSync(join(watched, 'poleward-session.jsonl')).equals(before)).toBe(true);
    expect(readdirSync(watched).filter((name) => name.endsWith('.jsonl'))).toEqual(['poleward-session.jsonl']);
  });

  test('frames in any order are the same night: one that comes late takes its place in time', () => {
    const folder = scratchFolder();
    put(folder, 1, 2, 3, 4, 5);
    run(folder, 'measure', 3, 1);
    expect(saidOf(run(folder, 'recheck', 5, 4))).not.toEqual(saidOf(live.at(-1)!));
    const late = run(folder, 'recheck', 2);
    expect(late.warnings.map((w) => w.code)).toContain('late-look');
    expect(saidOf(late)).toEqual(saidOf(live.at(-1)!));
  });
});
