/**
 * Many panels on one watch: `npm run build && npx tsx test/bench/panelLoad.ts [--panels 50] [--minutes 10] [--every 2000]`.
 *
 * Two watches run side by side, one with panels open and one without, and are given the same frames in turn, half a period apart,
 * so that whatever else the machine does falls on both. Prints latency (from the moment a frame stands in the folder, whole, to the
 * answer) and memory of both, and exits with 1 if the panels cost more than 10 % of the latency, if memory grows, or if a panel
 * missed a frame.
 */
import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync } from 'node:fs';
import { type IncomingMessage, get } from 'node:http';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { skyFramePaths, skyTruth } from '../skies.js';
import { benchCache } from './frames.js';

const { values } = parseArgs({ options: {
  panels: { type: 'string', default: '50' }, minutes: { type: 'string', default: '10' }, every: { type: 'string', default: '2000' },
} });
const panels = Number(values.panels), minutes = Number(values.minutes), every = Number(values.every);
/** The first frames make the measurement and warm the process. */
const WARM = 8;

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const frames = skyFramePaths('adjusting');
const { site } = skyTruth('adjusting');

interface Watched {
  readonly child: ChildProcess;
  readonly address: string | null;
  /** Puts the n-th frame into the folder; ms until the answer. */
  take(n: number): Promise<number>;
  stop(): Promise<void>;
}

async function startWatched(words: readonly string[]): Promise<Watched> {
  mkdirSync(benchCache, { recursive: true });
  const folder = mkdtempSync(join(benchCache, 'panels-'));
  const child = spawn(process.execPath, [main, 'watch', folder, '--json', '--no-session', '--latitude', `${site.latitudeDeg}`,
    '--longitude', `${site.longitudeDeg}`, '--elevation', `${site.elevationMetres}`, ...words], { stdio: ['ignore', 'pipe', 'inherit'] });
  let said = '', lines = 0;
  let notice = (): void => {};
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    if (said.length < 2000) said += text;
    lines += text.split('\n').length - 1;
    notice();
  });
  const until = async (found: () => boolean): Promise<void> => {
    while (!found()) await new Promise<void>((resolve) => { notice = resolve; });
  };
  await until(() => said.includes('"ready"'));
  return {
    child, address: /"addresses":\["([^"]+)"/.exec(said)?.[1] ?? null,
    async take(n) {
      // Three with rotation, then the knobs turned to and fro.
      const waiting = join(folder, 'waiting.part'), frame = join(folder, `frame-${n}.fits`);
      copyFileSync(n < 3 ? frames[n]! : frames[3 + n % 2]!, waiting);
      const before = lines, begin = performance.now();
      renameSync(waiting, frame);
      await until(() => lines > before);
      const spent = performance.now() - begin;
      rmSync(frame);
      return spent;
    },
    async stop() {
      const ended = new Promise((resolve) => { child.on('exit', resolve); });
      child.kill('SIGINT');
      await ended;
      rmSync(folder, { recursive: true });
    },
  };
}

/** Views that each panel has been sent. */
function openPanels(address: string): Promise<{ readonly views: number[]; readonly responses: IncomingMessage[] }> {
  const views = new Array<number>(panels).fill(0);
  return Promise.all(views.map((_, i) => new Promise<IncomingMessage>((resolve, reject) => {
    get(`${address}events`, { agent: false }, (response) => {
      response.setEncoding('utf8').on('data', (text: string) => { views[i]! += text.split('event: view').length - 1; }).on(
        'error', () => {},
      );
      if (response.statusCode === 200) resolve(response);
      else reject(new Error(`A panel was refused: ${response.statusCode}.`));
    }).on('error', reject);
  }))).then((responses) => ({ views, responses }));
}

/** Memory of a process in MB; NaN where it can't be told. */
function residentMegabytes(pid: number): number {
  try {
    if (process.platform === 'linux') return Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))![1]) / 1024;
    return Number(execFileSync('ps', ['-o', 'rss=', '-p', `${pid}`], { encoding: 'utf8' })) / 1024;
  } catch {
    return NaN;
  }
}

function quantile(numbers: readonly number[], share: number): number {
  const sorted = [...numbers].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))]!;
}

const alone = await startWatched([]);
const watched = await startWatched(['--panel', '--panel-port', '0']);
for (let n = 0; n < WARM; n++) await Promise.all([alone.take(n), watched.take(n)]);
const { views, responses } = await openPanels(watched.address!);

const count = Math.round(minutes * 60_000 / every);
const spent = { alone: [] as number[], watched: [] as number[] };
const memory = { alone: [] as number[], watched: [] as number[] };
const begin = performance.now();
const at = (ms: number): Promise<void> => new Promise((resolve) => { setTimeout(resolve, Math.max(0, begin + ms - performance.now())); });
for (let n = 0; n < count; n++) {
  await at(n * every);
  spent.watched.push(await watched.take(WARM + n));
  memory.watched.push(residentMegabytes(watched.child.pid!));
  await at((n + 0.5) * every);
  spent.alone.push(await alone.take(WARM + n));
  memory.alone.push(residentMegabytes(alone.child.pid!));
}
await at(count * every);
const open = responses.filter((r) => !r.destroyed && !r.complete).length;
const fewest = Math.min(...views);
for (const response of responses) response.destroy();
await watched.stop();
await alone.stop();

const part = Math.max(1, Math.floor(count / 5));
let good = true;
const check = (right: boolean, words: string): void => {
  good &&= right;
  console.log(`${right ? 'holds' : 'FAILS'}: ${words}`);
};
console.log(`${panels} panels, ${count} frames in ${((performance.now() - begin) / 60_000).toFixed(1)} min, 800x600 pixels`);
for (const name of ['alone', 'watched'] as const) {
  const times = spent[name], mb = memory[name];
  console.log(`${name === 'alone' ? 'without panels' : 'with panels   '}  latency median ${quantile(times, 0.5).toFixed(0)} ms, 90 % `
    + `${quantile(times, 0.9).toFixed(0)} ms;`
    + ` memory ${quantile(mb.slice(0, part), 0.5).toFixed(0)} MB in the first fifth, ${quantile(mb.slice(-part), 0.5).toFixed(0)} MB in `
    + `the last, most ${Math.max(...mb).toFixed(0)} MB`);
}
const ratio = quantile(spent.watched, 0.5) / quantile(spent.alone, 0.5);
check(Math.abs(ratio - 1) <= 0.1 || ratio < 1, `latency ${((ratio - 1) * 100).toFixed(1)} % more with panels (at most 10 %)`);
const growth = quantile(memory.watched.slice(-part), 0.5) - quantile(memory.watched.slice(0, part), 0.5);
const growthAlone = quantile(memory.alone.slice(-part), 0.5) - quantile(memory.alone.slice(0, part), 0.5);
if (Number.isNaN(growth)) console.log('memory was not measured on this system');
else check(growth <= 10, `memory changed by ${growth.toFixed(1)} MB with panels, ${growthAlone.toFixed(1)} MB without (at most 10 MB)`);
// The first view is what stood when it opened; then one a frame.
check(open === panels && fewest >= count, `${open} panels still open at the end, each was sent every frame (${fewest} views at least)`);
process.exitCode = good ? 0 : 1;
