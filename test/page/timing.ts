/**
 * `npx tsx test/page/timing.ts [ROUNDS [WHICH]]`: the page in Chromium against the command line, turn by turn, so that what else the
 * machine does weighs on both: three guide frames, three of 1.2 megapixels at phone size with a processor four times slower, three
 * 24-megapixel FITS frames; first paint of the single file, the longest task on the main thread. `npm run build` first.
 */
import { readFileSync, readdirSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { fileURLToPath } from 'node:url';
import type { Page } from 'playwright-core';
import { benchFrames } from '../bench/frames.js';
import { median, timeProcess } from '../bench/timeProcess.js';
import { openBrowser } from '../panel/browser.js';
import { LAPTOP, PHONE, give, ready } from './openPage.js';
import { ownTasks } from './ownTasks.js';
import { SINGLE } from './pageServer.js';

const ROUNDS = Number(process.argv[2] ?? 5);
const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const DEMO = [1, 2, 3].map((n) => fileURLToPath(new URL(`../../demo/frame-${n}.fits`, import.meta.url)));

const browser = await openBrowser();

/** @param slower the processor is made so many times slower, for the page and its worker */
async function fresh(slower: number): Promise<{ page: Page; close(): Promise<void> }> {
  const blank = await blankPage(slower);
  await blank.page.goto(SINGLE);
  await ready(blank.page);
  return blank;
}

async function blankPage(slower: number): Promise<{ page: Page; close(): Promise<void> }> {
  const context = await browser.newContext({ viewport: slower > 1 ? PHONE : LAPTOP });
  const page = await context.newPage();
  page.setDefaultTimeout(300_000);
  if (slower > 1) await (await context.newCDPSession(page)).send('Emulation.setCPUThrottlingRate', { rate: slower });
  return { page, close: () => context.close() };
}

/** Seconds from frames given to their answer on the screen. */
async function answerSeconds(page: Page, frames: readonly string[]): Promise<number> {
  const begun = performance.now();
  await give(page, frames, 3);
  return (performance.now() - begun) / 1000;
}

async function compare(name: string, frames: readonly string[], slower = 1): Promise<void> {
  const [ours, theirs, longest, longestWall, first, memory]: number[][] = [[], [], [], [], [], []];
  const load: number[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    theirs!.push((await timeProcess(process.execPath, [main, 'measure', ...frames, '--json', '--no-session'], tmpdir())).seconds);
    load.push(loadavg()[0]!);
    const { page, close } = await fresh(slower);
    ours!.push(await answerSeconds(page, frames));
    first!.push(await page.evaluate(() => performance.getEntriesByName('first-paint')[0]?.startTime ?? NaN));
    memory!.push(peakMegabytes());
    await close();
    // Apart, since to be traced costs time.
    const traced = await blankPage(slower);
    const tasks = await ownTasks(traced.page, SINGLE, async () => {
      await traced.page.goto(SINGLE);
      await ready(traced.page);
      await give(traced.page, frames, 3);
      // The picture comes after the answer.
      await traced.page.locator('#pictureImage[src^="blob:"]').waitFor();
    });
    await traced.close();
    longest!.push(tasks[0]!.processor);
    longestWall!.push(Math.max(...tasks.map(({ duration }) => duration)));
  }
  const of = (values: number[] | undefined, digits: number): string =>
    `${Math.min(...values!).toFixed(digits)} (${median(values!).toFixed(digits)} to ${Math.max(...values!).toFixed(digits)})`;
  console.log(`${name}, ${ROUNDS} rounds, least (median to most); load ${of(load, 1)}`);
  console.log(`  page, frames given to answer shown  ${of(ours, 2)} s`);
  console.log(`  poleward measure, whole process     ${of(theirs, 2)} s`);
  console.log(`  ratio                               ${(Math.min(...ours!) / Math.min(...theirs!)).toFixed(2)}`);
  console.log(`  largest renderer process, peak      ${of(memory, 0)} MB`);
  console.log(`  longest task, processor             ${of(longest, 0)} ms`);
  console.log(`  longest task, by the clock          ${of(longestWall, 0)} ms`);
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

const WHICH = process.argv[3] ?? 'guide phone large';
if (WHICH.includes('guide')) await compare('three guide frames (demo)', DEMO);
const phone = 'three FITS frames of 1.2 megapixels, phone, processor four times slower';
if (WHICH.includes('phone')) await compare(phone, benchFrames(1280, 960, 3), 4);
if (WHICH.includes('large')) await compare('three FITS frames of 24 megapixels', benchFrames(6000, 4000, 3));
await browser.close();
