/** The page in Firefox, in both of its forms: the command line's answer, from a disk, without a network, over a tab that was left. */
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { MeasurementRecord, SessionEntry } from '../../src/night/record/entry.js';
import { poleward } from '../cli/poleward.js';
import { Firefox, firefoxPath } from './firefoxDriver.js';
import { SINGLE, servePage } from './pageServer.js';

const shots = fileURLToPath(new URL('../../testdata/.cache/page/', import.meta.url));
const DEMO = [1, 2, 3].map((n) => fileURLToPath(new URL(`../../demo/frame-${n}.fits`, import.meta.url)));

describe.skipIf(firefoxPath === null)('the page in Firefox', () => {
  let firefox: Firefox;
  beforeAll(async () => {
    mkdirSync(shots, { recursive: true });
    firefox = await Firefox.start();
    // On a busy machine it takes its time to start.
  }, 300_000);
  afterAll(() => firefox?.close());

  const looks = (count: number): Promise<void> => firefox.until(`document.documentElement.dataset.looks === '${count}'`);
  const verdict = (): Promise<unknown> => firefox.run('return document.getElementById("verdict").textContent');
  /** What is the same on both fronts to the last digit. */
  const numbers = ({ axis, verdict: said, frames }: MeasurementRecord): unknown =>
    ({ axis, verdict: said, frames: frames.map((f) => ({ ...f, file: basename(f.file) })) });
  /** The answers in the session file that the page saves. */
  async function savedAnswers(): Promise<unknown[]> {
    await firefox.run('document.getElementById("saveSession").click()');
    for (;;) {
      await firefox.run('return new Promise(requestAnimationFrame)');
      const names = readdirSync(firefox.downloads);
      const file = names.find((name) => name.endsWith('.jsonl'));
      if (file === undefined || names.some((name) => name.endsWith('.part'))) continue;
      const lines = readFileSync(join(firefox.downloads, file), 'utf8').trim().split('\n');
      return lines.map((line) => JSON.parse(line) as SessionEntry)
        .flatMap((entry) => (entry.kind === 'answer' ? [numbers(entry.measurement)] : []));
    }
  }

  test('the single file from a disk: the command line\'s answer', async () => {
    await firefox.open(SINGLE);
    await looks(0);
    await firefox.pick('#pick', DEMO);
    await looks(3);
    expect(await savedAnswers()).toEqual([numbers(JSON.parse(poleward('measure', ...DEMO, '--json').out) as MeasurementRecord)]);
    writeFileSync(join(shots, 'firefox.png'), await firefox.screenshot());
  });

  test('the folder form: after the first visit without a server, the night kept over a tab that was left', async () => {
    const server = await servePage();
    await firefox.open(server.url);
    await looks(0);
    await firefox.run('return navigator.serviceWorker.ready.then(() => null)');
    server.stop();
    await firefox.reopen(server.url);
    await looks(0);
    await firefox.pick('#pick', DEMO);
    await looks(3);
    const said = await verdict();
    expect(said).toMatch(/^azimuth first: move the axis 24\.3′ west/);
    await firefox.reopen(server.url);
    await looks(3);
    expect(await verdict()).toBe(said);
  });
});
