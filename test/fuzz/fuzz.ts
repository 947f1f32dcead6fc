/**
 * `npm run fuzz [-- COUNT [SEED [READER]]]`: COUNT hostile inputs (100,000 unless said) through every reader of files. Inputs depend on the
 * seed, the reader and their number alone. What crashes, hangs, takes too much memory, throws anything but a PolewardError or gives
 * values that can't be used is kept in testdata/.cache/fuzz/ (not in git), with how to replay it:
 * `npm run fuzz -- replay FILE`.
 */
import { fork } from 'node:child_process';
import { copyFileSync, mkdirSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { PartSays } from './part.js';
import { COSTLY, inputFolder, READERS } from './readers.js';

/** A process that reports nothing for so long counts as hanging and is ended. */
const SILENCE_MS = 30_000;
/** While it starts and makes its inputs. */
const STARTING_MS = 300_000;
/** Inputs of one process: memory that a library keeps is no fault of the input that comes last. */
const BATCH = 4000;
/** Of those that make a WebAssembly module of LibRaw for every hundred inputs: the collector frees them late. */
const RAW_BATCH = 400;

interface Tally {
  done: number; read: number; refused: number; failed: number;
  worstMs: number; peakBytes: number; complaints: string;
}

const failures = fileURLToPath(new URL('../../testdata/.cache/fuzz/', import.meta.url));
mkdirSync(failures, { recursive: true });

if (process.argv[2] === 'replay') {
  const file = process.argv[3] ?? '';
  const reader = [...READERS, COSTLY].find(({ name }) => basename(file).startsWith(`${name}-`));
  if (!reader) throw new Error(`${file} is none of the kept inputs: their names begin with a reader's`);
  const begun = performance.now();
  const { kind, trouble } = await reader.read(file);
  console.log(`${reader.name}: ${kind} in ${(performance.now() - begun).toFixed(0)} ms, ${trouble ?? 'sound'}; peak `
    + `${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MiB`);
} else {
  await run(Number(process.argv[2] ?? 100_000), process.argv[3] ?? '1', process.argv[4]);
}

async function run(count: number, seed: string, only: string | undefined): Promise<void> {
  const readers = [...READERS, COSTLY].filter(({ name }) => only === undefined || name === only);
  const shares = readers.reduce((sum, { share }) => sum + share, 0);
  const tallies = new Map(readers.map(({ name }) => [name, { done: 0, read: 0, refused: 0, failed: 0, worstMs: 0, peakBytes: 0,
    complaints: '' } as Tally]));
  const waiting = readers.flatMap(({ name, share }) => {
    const all = Math.ceil((count * share) / shares);
    const batch = name === 'raw' ? RAW_BATCH : BATCH;
    return Array.from({ length: Math.ceil(all / batch) }, (_, i) => ({ name, first: i * batch, end: Math.min(all, (i + 1) * batch) }));
  });
  const folder = inputFolder();
  await Promise.all(Array.from({ length: availableParallelism() }, async (_, lane) => {
    for (let batch = waiting.shift(); batch; batch = waiting.shift()) {
      await runBatch(batch.name, seed, batch.first, batch.end, folder.write(`${lane}`, Buffer.alloc(0)), tallies.get(batch.name) as Tally);
    }
  }));
  folder.remove();
  console.log('reader     inputs    read  refused  failed   worst time   peak memory');
  for (const [name, t] of tallies) {
    console.log(`${name.padEnd(8)} ${String(t.done).padStart(8)} ${String(t.read).padStart(7)} ${String(t.refused).padStart(8)} `
      + `${String(t.failed).padStart(7)} ${(t.worstMs / 1000).toFixed(2).padStart(10)} s `
      + `${(t.peakBytes / 2 ** 20).toFixed(0).padStart(9)} MiB`);
    if (t.complaints !== '') console.log(`  libraries wrote to the terminal: ${JSON.stringify(t.complaints.slice(0, 300))}`);
  }
  const all = [...tallies.values()];
  const failed = all.reduce((sum, t) => sum + t.failed, 0);
  console.log(`\n${all.reduce((sum, t) => sum + t.done, 0)} inputs, seed ${seed}: ${failed} `
    + `failed${failed > 0 ? `, kept in ${failures}` : ''}`);
  process.exitCode = failed > 0 || all.some((t) => t.complaints !== '') ? 1 : 0;
}

/** Reads the inputs from `first` to before `end`, in a new process after each one that ends the last. */
async function runBatch(name: string, seed: string, first: number, end: number, path: string, tally: Tally): Promise<void> {
  for (let from = first; from < end;) from = await runProcess(name, seed, from, end, path, tally);
}

/** The index of the first input not yet read. */
function runProcess(name: string, seed: string, first: number, end: number, path: string, tally: Tally): Promise<number> {
  return new Promise((resolve, reject) => {
    let [at, hung, begun] = [first, false, false];
    const failed = (why: string): void => {
      tally.failed++;
      console.log(`${name} ${at}: ${why}\n  replay: npm run fuzz -- replay ${join(failures, `${name}-${seed}-${at}`)}`);
    };
    const child = fork(fileURLToPath(new URL('./part.ts', import.meta.url)), [name, seed, String(first), String(end), path, failures], {
      execArgv: ['--expose-gc', '--import', 'tsx'], stdio: ['ignore', 'inherit', 'pipe', 'ipc'],
    });
    child.stderr?.setEncoding('utf8').on('data', (text: string) => { tally.complaints += text; });
    const hang = (): void => { hung = true; child.kill('SIGKILL'); };
    let timer = setTimeout(hang, STARTING_MS);
    child.on('message', ({ index, ended }: PartSays) => {
      clearTimeout(timer);
      timer = setTimeout(hang, SILENCE_MS);
      [at, begun] = [index, true];
      if (!ended) return;
      tally.done++;
      tally[ended.kind]++;
      tally.worstMs = Math.max(tally.worstMs, ended.milliseconds);
      tally.peakBytes = Math.max(tally.peakBytes, ended.peakBytes);
      if (ended.failure !== null) failed(ended.failure);
      at++;
    });
    child.on('exit', (code, signal) => {
      clearTimeout(timer);
      if (at >= end) return resolve(end);
      if (!begun) return reject(new Error(`The process for ${name} did not begin: ${tally.complaints}`));
      tally.done++;
      copyFileSync(path, join(failures, `${name}-${seed}-${at}`));
      failed(hung ? `hung for ${SILENCE_MS / 1000} s` : `ended its process (${signal ?? code})`);
      resolve(at + 1);
    });
  });
}
