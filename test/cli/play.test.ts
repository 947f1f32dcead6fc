/** `simulate --play` through the built command line: a practice night of a virtual mount, by hand and from a pipe. */
import { spawn, spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import type { Out } from './watching.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

interface Truth { readonly fromTruePole: { readonly altitudeArcmin: number; readonly azimuthArcmin: number } }
interface KnobOut { readonly knob: string; readonly steps: readonly number[]; readonly turns: number | null }
type Answer = Out & { readonly verdict: { readonly withinLimit: boolean }; readonly knobs: readonly KnobOut[] };

function piped(input: string, ...words: string[]): { status: number | null; out: string; err: string } {
  const ran = spawnSync(process.execPath, [main, 'simulate', '--play', ...words], { input, encoding: 'utf8', timeout: 180_000 });
  return { status: ran.status, out: ran.stdout, err: ran.stderr };
}

test('who turns as it says comes within the limit; the answers hold against the truth; Ctrl-C ends it cleanly', async () => {
  const child = spawn(process.execPath, [main, 'simulate', '--play', '--json', '--seed', '11', '--latitude', '-33']);
  const lines: string[] = [];
  let rest = '', err = '';
  let wake = (): void => {};
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    const parts = (rest + text).split('\n');
    rest = parts.pop()!;
    lines.push(...parts);
    wake();
  });
  child.stderr.setEncoding('utf8').on('data', (text: string) => { err += text; });
  const ended = new Promise<number | null>((resolve) => { child.on('close', (code) => { resolve(code); wake(); }); });
  const next = async (): Promise<unknown> => {
    while (lines.length === 0) {
      if (child.exitCode !== null) throw new Error(err);
      await new Promise<void>((resolve) => { wake = resolve; });
    }
    return JSON.parse(lines.shift()!);
  };
  const ask = async <T>(line: string): Promise<T> => {
    child.stdin.write(`${line}\n`);
    return await next() as T;
  };
  expect(await next()).toMatchObject({ schema: 'poleward/practice-1', event: 'begun', seed: '11', latitudeDeg: -33 });
  expect(await ask('frame')).toMatchObject({ event: 'frame', taken: 'first' });
  await ask('slew 35');
  let answer = await ask<Answer>('frame');
  for (let rounds = 0; !answer.verdict.withinLimit; rounds++) {
    expect(rounds).toBeLessThan(5);
    const { fromTruePole } = await ask<Truth>('truth');
    for (const which of ['altitude', 'azimuth'] as const) {
      const off = Math.abs(answer.axis.fromTruePole[`${which}Arcmin`] - fromTruePole[`${which}Arcmin`]);
      expect(off).toBeLessThan(0.002 + 5 * answer.axis.sigma[`${which}Arcmin`]);
    }
    // A knob that is not known yet is tried.
    for (const { knob, steps, turns: known } of answer.knobs) for (const turns of known === null ? [0.5] : steps) {
      expect(await ask(`${knob} ${turns}`)).toEqual({ schema: 'poleward/practice-1', event: 'turned', knob, turns });
    }
    answer = await ask<Answer>('frame');
  }
  child.kill('SIGINT');
  expect(await next()).toMatchObject({ event: 'ended' });
  expect([await ended, err]).toEqual([0, '']);
});

describe('from a pipe', () => {
  const NIGHT = 'frame\nslew 40\nnonsense\nframe\ntruth\n';

  test('every line is answered in words of 60 columns, what can\'t be done is told beside them; a seed is the same night again', () => {
    const { status, out, err } = piped(NIGHT, '--seed', '5');
    expect(status, err).toBe(0);
    expect(err.replace(/\s+/g, ' ').trim()).toMatch(/^"nonsense" is not a word here\. Write one of [a-z, ]*\.$/);
    expect(Math.max(...out.split('\n').map((line) => line.length))).toBeLessThanOrEqual(60);
    expect(out.replace(/\s+/g, ' ')).toMatch(
      /The same again: --seed 5\. .* first frame of the night .* too (high|low), .* from the true pole\. .* Practice ended after 2 frames\. $/,
    );
    const again = piped(NIGHT, '--seed', '5');
    expect(again.out).toBe(out);
  });

  test('an option that only frames have is wrong usage, and so is neither a folder nor a practice night', () => {
    expect([piped('', '--fwhm', '3'), piped('', '--out', 'x')].map(({ status }) => status)).toEqual([2, 2]);
    const bare = spawnSync(process.execPath, [main, 'simulate'], { encoding: 'utf8' });
    expect([bare.status, bare.stderr.split('\n')[0]]).toEqual([2, 'error: Give --out FOLDER for frames, or --play for a practice night.']);
  });
});
