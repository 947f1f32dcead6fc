/**
 * `npm run bench`: whole processes, `poleward measure` on three frames of 24 megapixels and on three of one, `poleward recheck` on one
 * more, against the C program `source-extractor` (Debian) on the same frames and an empty Node, alternating; then where the time goes, and
 * how it grows with pixels and frames. Prints medians and ratios of one run.
 *
 * Debian's `default.param` has every column commented out, and with none the program stops at its first object. Its settings
 * stay the default ones; the columns here are the fewest that make a list of stars. A second line gives it a threshold of five
 * sigmas in place of 1.5, where it has a third as many objects to measure.
 */
import { copyFileSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { execFileSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { benchCache, benchFrames } from './frames.js';
import { type Timed, median, timeProcess } from './timeProcess.js';
import { watchLatency } from './watchLatency.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const stages = fileURLToPath(new URL('./stages.ts', import.meta.url));
const ROUNDS = Number(process.argv[2] ?? 7);

const measure = (frames: readonly string[]): Promise<Timed> =>
  timeProcess(process.execPath, [main, 'measure', ...frames, '--json', '--no-session'], tmpdir());

const folder = extractorFolder();
const list = async (frames: readonly string[], settings: readonly string[] = []): Promise<Timed> => {
  let seconds = 0;
  let peakMegabytes = 0;
  for (const frame of frames) {
    const timed = await timeProcess('source-extractor', [frame, '-c', 'default.sex', ...settings], folder!);
    seconds += timed.seconds;
    peakMegabytes = Math.max(peakMegabytes, timed.peakMegabytes);
  }
  return { seconds, peakMegabytes };
};

const three = benchFrames(6000, 4000, 3);
await measure(three);
if (folder) await list(three);
const ours: Timed[] = [];
const theirs: Timed[] = [];
const theirsAtFive: Timed[] = [];
for (let round = 0; round < ROUNDS; round++) {
  ours.push(await measure(three));
  if (!folder) continue;
  theirs.push(await list(three));
  theirsAtFive.push(await list(three, ['-DETECT_THRESH', '5', '-ANALYSIS_THRESH', '5']));
}
const show = (name: string, timed: readonly Timed[]): void => {
  const seconds = timed.map((t) => t.seconds);
  console.log(
    `${name.padEnd(34)} ${median(seconds).toFixed(2)} s (${Math.min(...seconds).toFixed(2)} to ${Math.max(...seconds).toFixed(2)}), peak `
      + `${Math.max(...timed.map((t) => t.peakMegabytes)).toFixed(0)} MB`,
  );
};
console.log(`three frames of 24 megapixels, ${ROUNDS} rounds, median (range)`);
show('poleward measure, all three', ours);
if (folder) {
  show('source-extractor, its defaults', theirs);
  show('the same from five sigmas up', theirsAtFive);
  const ratio = (others: readonly Timed[]): string =>
    (median(ours.map((t) => t.seconds)) / median(others.map((t) => t.seconds))).toFixed(2);
  console.log(`ratio ${ratio(theirs)}; from five sigmas up ${ratio(theirsAtFive)}`);
} else {
  console.log('source-extractor is not installed: no comparison');
}

await smallFrames();

console.log('\nwhere the time of one thread goes (a process of its own, cold)');
console.log(execFileSync(process.execPath, ['--import', 'tsx', stages, ...three], { encoding: 'utf8' }).trimEnd());

const latency = await watchLatency(benchFrames(6000, 4000, 6), benchCache);
console.log('\nwatch: from a 24-megapixel frame standing in the folder to the answer');
console.log(
  `first two frames ${latency.slice(0, 2).map((ms) => ms.toFixed(0)).join(', ')} ms, then `
    + `${latency.slice(2).map((ms) => ms.toFixed(0)).join(', ')} ms; median ${median(latency.slice(2)).toFixed(0)} ms`,
);

console.log('\ngrowth with pixels (three frames)');
for (const [width, height] of [[1200, 833], [3000, 2000], [6000, 4000], [9568, 6376]] as const) {
  const frames = benchFrames(width, height, 3);
  const timed = [await measure(frames), await measure(frames), await measure(frames)];
  const seconds = median(timed.map((t) => t.seconds));
  console.log(
    `${((width * height) / 1e6).toFixed(0).padStart(4)} megapixels  ${seconds.toFixed(2)} s, `
      + `${((seconds * 1e9) / (3 * width * height)).toFixed(1)} ns a pixel, peak `
      + `${Math.max(...timed.map((t) => t.peakMegabytes)).toFixed(0)} MB`,
  );
}
console.log('\ngrowth with frames (6 megapixels)');
const ten = benchFrames(3000, 2000, 10);
for (const count of [2, 3, 5, 10]) {
  const timed = [await measure(ten.slice(0, count)), await measure(ten.slice(0, count)), await measure(ten.slice(0, count))];
  const seconds = median(timed.map((t) => t.seconds));
  console.log(`${String(count).padStart(4)} frames  ${seconds.toFixed(2)} s, ${((seconds * 1000) / count).toFixed(0)} ms a frame`);
}
if (folder) rmSync(folder, { recursive: true });

/** Three frames of a megapixel, the commonest case, and a recheck of a fourth; each beside an empty Node. */
async function smallFrames(): Promise<void> {
  const frames = benchFrames(1200, 833, 4);
  const night = mkdtempSync(join(tmpdir(), 'poleward-bench-'));
  const [kept, session] = [join(night, 'kept.json'), join(night, 'session.json')];
  const site = ['--latitude', '46.5', '--longitude', '11.2'];
  await timeProcess(process.execPath, [main, 'measure', ...frames.slice(0, 3), ...site, '--session', kept, '--json'], tmpdir());
  const times: Record<'empty' | 'measured' | 'rechecked' | 'listed' | 'listedOne', Timed[]> = {
    empty: [], measured: [], rechecked: [], listed: [], listedOne: [],
  };
  for (let round = 0; round < ROUNDS; round++) {
    times.empty.push(await timeProcess(process.execPath, ['-e', '0'], tmpdir()));
    times.measured.push(await measure(frames.slice(0, 3)));
    copyFileSync(kept, session);
    times.rechecked.push(await timeProcess(process.execPath, [main, 'recheck', frames[3]!, '--session', session, '--json'], tmpdir()));
    if (!folder) continue;
    times.listed.push(await list(frames.slice(0, 3), ['-DETECT_THRESH', '5', '-ANALYSIS_THRESH', '5']));
    times.listedOne.push(await list(frames.slice(3), ['-DETECT_THRESH', '5', '-ANALYSIS_THRESH', '5']));
  }
  rmSync(night, { recursive: true });
  const middle = (timed: readonly Timed[]): number => median(timed.map((t) => t.seconds));
  console.log('\nsmall frames, of one megapixel');
  show('an empty Node', times.empty);
  for (const [name, timed, others] of [
    ['poleward measure, three', times.measured, times.listed], ['poleward recheck, one more', times.rechecked, times.listedOne],
  ] as const) {
    show(name, timed);
    const than = (other: readonly Timed[]): string => (middle(timed) / middle(other)).toFixed(1);
    const listing = folder ? `; source-extractor from five sigmas up ${middle(others).toFixed(2)} s, ratio ${than(others)}` : '';
    console.log(`  ${than(times.empty)} empty starts${listing}`);
  }
}

/** A folder with the program's own default settings, or null where it is not installed. */
function extractorFolder(): string | null {
  try {
    const target = mkdtempSync(join(tmpdir(), 'poleward-bench-'));
    writeFileSync(join(target, 'default.sex'), execFileSync('source-extractor', ['-d']));
    writeFileSync(join(target, 'default.param'), 'NUMBER\nX_IMAGE\nY_IMAGE\nFLUX_ISO\n');
    for (const name of ['default.conv', 'default.nnw']) copyFileSync(`/usr/share/source-extractor/${name}`, join(target, name));
    return target;
  } catch {
    return null;
  }
}
