/**
 * `npx tsx test/page/fuzzPage.ts [COUNT [SEED [READER]]]`: hostile files through the page's readers in Chromium, 10,000 unless said. Prints
 * counts and the worst time by reader; what fails is kept in testdata/.cache/fuzz-page. A browser that ends or hangs is a failure.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import type { Page } from 'playwright-core';
import { makeRandom } from '../../src/simulate/random.js';
import { READERS, type Reader } from '../fuzz/readers.js';
import { openBrowser } from '../panel/browser.js';
import type { ReadInPage } from './fuzzEntry.js';
import { servePage } from './pageServer.js';

const COUNT = Number(process.argv[2] ?? 10_000);
const SEED = Number(process.argv[3] ?? 1);
const BATCH = 25;
const HANG_MS = 10_000;
/** More than any file so small may take, with room for a busy machine. */
const SLOW_MS = 5000;
/** What frames come as; the other readers are not the page's. */
const FRAMES = ['fits', 'gzip', 'tiles', 'png', 'jpeg', 'tiff', 'webp', 'avif', 'raw'];
const kept = fileURLToPath(new URL('../../testdata/.cache/fuzz-page/', import.meta.url));

const { outputFiles } = await build({
  entryPoints: [fileURLToPath(new URL('fuzzEntry.ts', import.meta.url))], bundle: true, format: 'iife', platform: 'browser', write: false,
  alias: Object.fromEntries(['lerc', 'zstddec/stream'].map(
    (name) => [name, fileURLToPath(new URL('../../src/page/frame/notRead.ts', import.meta.url))],
  )),
});
const script = outputFiles[0]!.text;
mkdirSync(kept, { recursive: true });
const server = await servePage();
const browser = await openBrowser();

async function freshPage(): Promise<Page> {
  const page = await browser.newPage();
  await page.goto(`${server.url}icon.svg`);
  await page.evaluate(script);
  return page;
}

const chosen = READERS.filter(({ name }) => FRAMES.includes(name) && (process.argv[4] ?? name) === name);
const shares = chosen.reduce((sum, { share }) => sum + share, 0);
let page = await freshPage();
let failures = 0;
for (const reader of chosen) failures += await fuzz(reader, Math.round((COUNT * reader.share) / shares));
await browser.close();
server.stop();
console.log(failures === 0 ? 'no crash, no hang, nothing unsound' : `${failures} failures, kept in ${kept}`);
process.exitCode = failures === 0 ? 0 : 1;

async function fuzz({ name, setUp }: Reader, count: number): Promise<number> {
  const make = await setUp();
  const random = makeRandom(`page ${SEED} ${name}`);
  let [read, refused, failed, worst] = [0, 0, 0, 0];
  for (let done = 0; done < count; done += BATCH) {
    const files = Array.from({ length: Math.min(BATCH, count - done) }, () => Buffer.from(make(random)));
    const results = await readTogether(files);
    for (const [i, { kind, trouble, milliseconds }] of results.entries()) {
      if (kind === 'read') read++;
      else refused++;
      worst = Math.max(worst, milliseconds);
      const wrong = trouble ?? (milliseconds > SLOW_MS ? `it took ${milliseconds.toFixed(0)} ms` : null);
      if (wrong === null) continue;
      failed++;
      writeFileSync(`${kept}${name}-${done + i}`, files[i]!);
      console.log(`${name} ${done + i}: ${wrong}`);
    }
  }
  console.log(`${name.padEnd(8)} ${count} files: ${read} read, ${refused} refused, ${failed} failed; worst ${worst.toFixed(0)} ms`);
  return failed;
}

/** Reads files; where the page ends or hangs, one by one in fresh ones to find the culprit. */
async function readTogether(files: readonly Buffer[]): Promise<ReadInPage[]> {
  const found = await inPage(files);
  if (found) return found;
  const one: ReadInPage[] = [];
  for (const file of files) {
    one.push((await inPage([file]))?.[0] ?? { kind: 'refused', trouble: 'the page ended or hung', milliseconds: HANG_MS });
  }
  return one;
}

async function inPage(files: readonly Buffer[]): Promise<ReadInPage[] | null> {
  const late = new Promise<null>((resolve) => { setTimeout(() => resolve(null), HANG_MS * Math.min(2, files.length)).unref(); });
  const read = page.evaluate(
    (texts) => (globalThis as unknown as { readAll(t: readonly string[]): Promise<ReadInPage[]> }).readAll(texts),
    files.map((file) => file.toString('base64')),
  ).catch(() => null);
  const found = await Promise.race([read, late]);
  if (!found) {
    await page.close().catch(() => {});
    page = await freshPage();
  }
  return found;
}
