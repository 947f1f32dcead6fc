/**
 * A soak of `watch` (built beforehand): random mischief in its folder, and every minute (or PERIOD seconds) a frame of known truth.
 * For each of these: was it answered rightly, and how long after its last byte? Beside it: memory, and how long the panel takes to answer.
 *
 *   npx tsx test/soak/soak.ts MINUTES [SEED [PERIOD]]
 */
import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { get } from 'node:http';
import { loadavg, tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { makeSite } from '../../src/sky/site.js';
import { generator } from '../axis/sightings.js';
import { strewnStars } from '../cli/poleward.js';
import { MISCHIEF, WAYS, foldAway, makeMischief } from './mischief.js';

const [minutes, seed, period] = [Number(process.argv[2] ?? 15), Number(process.argv[3] ?? 1), Number(process.argv[4] ?? 60)];
const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const TRUTH = { altitudeErrorArcmin: 12, azimuthErrorArcmin: -20 };
/** An answer is right within this, arcmin, and so many of its sigmas. */
const NEAR = 0.1;
const SIGMAS = 6;
/** The limits asked for, s. */
const ANSWERED = 2;
const PANEL = 0.2;

interface Answer {
  readonly at: number;
  readonly files: readonly string[];
  readonly off: number;
  readonly sigma: number;
}

const { uniform } = generator(seed);
const home = mkdtempSync(join(tmpdir(), 'poleward soak '));
const [sources, folder] = [join(home, 'sources'), join(home, 'frames')];
mkdirSync(sources);
mkdirSync(folder);
const frames = renderFrames();
const strewn = fitsFile(strewnStars(700, 500, 60, seed), [['DATE-OBS', '2026-11-25T20:30:00'], ['EXPTIME', 2]]);
const play = { folder, frame: readFileSync(frames[0]!), strewn: Buffer.from(strewn), uniform };

const child = spawn(process.execPath, [main, 'watch', folder, '--json', '--panel', '--panel-port', '0'], {
  env: { ...process.env, XDG_STATE_HOME: join(home, 'state') },
});
// However the soak ends, its watch ends with it.
process.on('exit', () => { child.kill(); });
const begun = performance.now();
const seconds = (): number => (performance.now() - begun) / 1000;
const answers: Answer[] = [];
const messages: string[] = [];
let address = '';
let rest = '', errors = '';
child.stdout.setEncoding('utf8').on('data', (text: string) => {
  const lines = (rest + text).split('\n');
  rest = lines.pop()!;
  for (const line of lines) take(JSON.parse(line) as Record<string, unknown>);
});
child.stderr.setEncoding('utf8').on('data', (text: string) => { errors += text; });
let ended: number | null | undefined;
const end = new Promise<number | null>((resolve) => { child.on('close', (code) => { ended = code; resolve(code); }); });

const panelTimes: number[] = [];
const memory: { readonly at: number; readonly megabytes: number }[] = [];
const beats = [setInterval(() => { void askPanel(); }, 250), setInterval(readMemory, 5000)];

while (address === '' || messages.length < 2) await sleep(50);
let made = 0;
let missed = 0;
const late: string[] = [];
const delays: number[] = [];
for (let i = 0; i < frames.length && ended === undefined; i++) {
  const next = seconds() + period;
  const way = i === 0 ? 'copied' : Object.keys(WAYS)[Math.floor(uniform() * Object.keys(WAYS).length)]!;
  const name = `true ${i + 1}.fits`;
  const trouble = mischiefFor(i === 0 ? 0 : period / 5);
  await WAYS[way]!(frames[i]!, join(folder, name));
  const whole = seconds();
  const [worked, before] = [processorSeconds(), answers.length];
  while (i > 0 && answers.length === before && seconds() < whole + 30 && !find(name, whole - 0.05)) await sleep(20);
  const work = processorSeconds() - worked;
  await trouble;
  while (i > 0 && !find(name, whole - 0.05) && seconds() < whole + 30) await sleep(20);
  const answer = find(name, whole - 0.05);
  const [load] = loadavg();
  if (i > 0) {
    if (!answer) {
      missed++;
      process.stdout.write(`${name} (${way}): no answer, load ${load!.toFixed(1)}\n`);
    } else {
      delays.push(answer.at - whole);
      const right = answer.off < NEAR + SIGMAS * answer.sigma;
      if (!right || answer.at - whole > ANSWERED) late.push(name);
      process.stdout.write(`${name} (${way}): ${(answer.at - whole).toFixed(2)} s (${work.toFixed(2)} s of a processor), `
        + `off by ${(answer.off * 60).toFixed(1)}"${right ? '' : ' WRONG'}, load ${load!.toFixed(1)}, `
        + `${memory.at(-1)?.megabytes ?? 0} MB\n`);
    }
  }
  await mischiefFor(Math.max(0, next - seconds() - period / 8));
  // The folder goes where nothing hangs on it.
  if (i % 3 === 2) await foldAway(folder);
}
for (const beat of beats) clearInterval(beat);
const stopped = performance.now();
child.kill('SIGINT');
const code = await end;
report();
rmSync(home, { recursive: true, force: true });

function renderFrames(): string[] {
  const count = Math.max(3, Math.round((60 * minutes) / period));
  const plan = {
    ...ordinaryNight(makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 }), new Date('2026-11-25T20:00:00Z')),
    ...TRUTH, intervalSeconds: 60, rotationsDeg: Array.from({ length: count }, (_, i) => (i * 35) % 140),
  };
  const night = planNight(plan, embeddedCatalogue());
  return plan.rotationsDeg.map((_, i) => {
    const { image, truth } = renderFrame(night, i);
    const path = join(sources, `${i}.fits`);
    writeFileSync(path, fitsFile(image, frameCards(plan, truth.startUtc)));
    return path;
  });
}

/** Mischief for so many seconds. */
async function mischiefFor(duration: number): Promise<void> {
  for (const until = seconds() + duration; seconds() < until;) {
    await makeMischief(MISCHIEF[Math.floor(uniform() * MISCHIEF.length)]!, ++made, play);
    await sleep(500 + 2500 * uniform());
  }
}

function take(line: Record<string, unknown>): void {
  if (line['schema'] === 'poleward/watch-1') {
    messages.push(String(line['message']));
    if (line['message'] === 'panel') address = (line['addresses'] as string[]).at(-1)!;
    return;
  }
  const { axis, frames: seen } = line as unknown as {
    axis: { fromTruePole: { altitudeArcmin: number; azimuthArcmin: number }; sigma: { separationArcmin: number } };
    frames: { file: string }[];
  };
  const { altitudeArcmin, azimuthArcmin } = axis.fromTruePole;
  answers.push({
    at: seconds(), files: seen.map(({ file }) => basename(file)), sigma: axis.sigma.separationArcmin,
    off: Math.hypot(altitudeArcmin - TRUTH.altitudeErrorArcmin, azimuthArcmin - TRUTH.azimuthErrorArcmin),
  });
}

/** The answer to a file that came after a moment. */
function find(name: string, after: number): Answer | undefined {
  return answers.find(({ files, at }) => files.includes(name) && at >= after);
}

function askPanel(): Promise<void> {
  if (address === '' || ended !== undefined) return Promise.resolve();
  const asked = performance.now();
  return new Promise((resolve) => {
    get(address, (response) => {
      response.resume().on('end', () => {
        panelTimes.push((performance.now() - asked) / 1000);
        resolve();
      });
    }).on('error', () => {
      panelTimes.push(Infinity);
      resolve();
    });
  });
}

/** Processor time of the watch so far, in a hundredth of a second as Linux counts it; 0 elsewhere. */
function processorSeconds(): number {
  try {
    const words = readFileSync(`/proc/${child.pid}/stat`, 'latin1').split(') ')[1]!.split(' ');
    return (Number(words[11]) + Number(words[12])) / 100;
  } catch {
    return 0;
  }
}

function readMemory(): void {
  try {
    const kilobytes = /VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'))?.[1];
    if (kilobytes) memory.push({ at: seconds(), megabytes: Math.round(Number(kilobytes) / 1024) });
  } catch {
    // Another system: memory is not told.
  }
}

function report(): void {
  const sorted = [...panelTimes].sort((a, b) => a - b);
  const at = (share: number): string => `${((sorted[Math.floor(share * (sorted.length - 1))] ?? NaN) * 1000).toFixed(0)} ms`;
  const within = sorted.filter((t) => t <= PANEL).length;
  const wrong = answers.filter(({ off, sigma }) => off >= NEAR + SIGMAS * sigma).length;
  process.stdout.write([
    `soak of ${(seconds() / 60).toFixed(1)} minutes, seed ${seed}: ${made} pieces of mischief, ${frames.length} true frames`,
    `answers ${answers.length}, wrong ${wrong}; true frames unanswered ${missed}, `
      + `wrong or later than ${ANSWERED} s: ${late.length} (${late.join(', ')})`,
    `delay after the last byte: median ${median(delays).toFixed(2)} s, most ${Math.max(...delays).toFixed(2)} s`,
    `panel: ${sorted.length} requests, ${within} within ${PANEL} s; median ${at(0.5)}, 99 % ${at(0.99)}, most ${at(1)}`,
    `memory (MB): ${memory.filter((_, i) => i % 12 === 0).map(({ megabytes }) => megabytes).join(' ')}`,
    `Ctrl-C: ended with ${String(code)} in ${((performance.now() - stopped) / 1000).toFixed(2)} s`,
    `words on stderr: ${errors.split('\n').length - 1} lines`, '',
  ].join('\n'));
  process.exitCode = missed + late.length + wrong > 0 || code !== 0 ? 1 : 0;
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? NaN;
}
