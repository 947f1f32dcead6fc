/**
 * `npx tsx test/page/timing.ts [ROUNDS]`: the page in Chromium against the command line, turn by turn, so that what else the machine does
 * weighs on both: three 24-megapixel FITS frames, three guide frames, first paint of the single file, the longest task on the main thread.
 * `npm run build` first.
 */
import { readFileSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { fileURLToPath } from 'node:url';
import type { Page } from 'playwright-core';
import { benchFrames } from '../bench/frames.js';
import { median, timeProcess } from '../bench/timeProcess.js';
import { openBrowser } from '../panel/browser.js';
import { give, ready } from './openPage.js';
import { SINGLE } from './pageServer.js';

const ROUNDS = Number(process.argv[2] ?? 5);
const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const DEMO = [1, 2, 3].map((n) => fileURLToPath(new URL(`../../demo/frame-${n}.fits`, import.meta.url)));

const browser = await openBrowser();

async function fresh(): Promise<{ page: Page; close(): Promise<void> }> {
  const context = await browser.newContext();
  const page = await context.newPage();
  page.setDefaultTimeout(300_000);
  await page.addInitScript(() => {
    const tasks: number[] = [];
    new PerformanceObserver((list) => tasks.push(...list.getEntries().map((e) => e.duration))).observe({ type: 'longtask' });
    Object.assign(window, { tasks });
  });
  await page.goto(SINGLE);
  await ready(page);
  return { page, close: () => context.close() };
}

/** Seconds from frames given to their answer on the screen. */
async function answerSeconds(page: Page, frames: readonly string[]): Promise<number> {
  const begun = performance.now();
  await give(page, frames, 3);
  return (performance.now() - begun) / 1000;
}

async function compare(name: string, frames: readonly string[]): Promise<void> {
  const [ours, theirs, longest, first, memory]: number[][] = [[], [], [], [], []];
  for (let round = 0; round < ROUNDS; round++) {
    theirs!.push((await timeProcess(process.execPath, [main, 'measure', ...frames, '--json', '--no-session'], tmpdir())).seconds);
    const { page, close } = await fresh();
    ours!.push(await answerSeconds(page, frames));
    longest!.push(Math.max(0, ...await page.evaluate(() => (window as unknown as { tasks: number[] }).tasks)));
    first!.push(await page.evaluate(() => performance.getEntriesByName('first-paint')[0]?.startTime ?? NaN));
    memory!.push(peakMegabytes());
    await close();
  }
  const of = (values: number[] | undefined, digits: number): string =>
    `${median(values!).toFixed(digits)} (${Math.min(...values!).toFixed(digits)} to ${Math.max(...values!).toFixed(digits)})`;
  console.log(`${name}, ${ROUNDS} rounds, median (range)`);
  console.log(`  page, frames given to answer shown  ${of(ours, 2)} s`);
  console.log(`  poleward measure, whole process     ${of(theirs, 2)} s`);
  console.log(`  ratio                               ${(median(ours!) / median(theirs!)).toFixed(2)}`);
  console.log(`  largest renderer process, peak      ${of(memory, 0)} MB`);
  console.log(`  longest task of the main thread     ${of(longest, 0)} ms`);
  console.log(`  first paint from disk               ${of(first, 0)} ms`);
}

/** Of all renderers of a Chromium that runs here, the most that one ever held (Linux). */
function peakMegabytes(): number {
  let most = NaN;
  for (const pid of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
    try {
      if (!readFileSync(`/proc/${pid}/cmdline`, 'utf8').includes('--type=renderer')) continue;
      const peak = /VmHWM:\s*(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
      if (peak) most = Math.max(Number.isNaN(most) ? 0 : most, Number(peak[1]) / 1024);
    } catch {
      // It has ended meanwhile.
    }
  }
  return most;
}

await compare('three guide frames (demo)', DEMO);
await compare('three FITS frames of 24 megapixels', benchFrames(6000, 4000, 3));
await browser.close();
