/**
 * Nights rendered to frames and run through the built command line: does each answer hold, and does it say so where it can't?
 * `npm run build && npx tsx test/night/renderedNights.ts [NIGHTS [FIRST SEED]]`
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { type NightPlan, type Shift, ordinaryNight } from '../../src/simulate/nightPlan.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { makeSite } from '../../src/sky/site.js';
import { generator } from '../axis/sightings.js';

interface Answer {
  readonly file: string;
  readonly altitude: number;
  readonly azimuth: number;
  readonly sigma: { readonly altitude: number; readonly azimuth: number };
  readonly doubts: number;
  readonly unconfirmed: boolean;
}

interface Drawn {
  readonly plan: NightPlan;
  /** What was done before each frame. */
  readonly deeds: readonly string[];
}

const [nights, first] = [Number(process.argv[2] ?? 40), Number(process.argv[3] ?? 1)];
const tally = { looks: 0, answered: 0, wrong: 0, wrongInDoubt: 0, doubts: 0, cleanAnswers: 0, cleanDoubts: 0 };
for (let seed = first; seed < first + nights; seed++) await judge(seed);
console.log(`${nights} nights from seed ${first}: ${JSON.stringify(tally)}`);

async function judge(seed: number): Promise<void> {
  const { plan, deeds } = draw(seed);
  const folder = mkdtempSync(join(tmpdir(), 'poleward-night-'));
  try {
    const night = planNight(plan, embeddedCatalogue());
    plan.rotationsDeg.forEach((_, i) => {
      const { image, truth } = renderFrame(night, i);
      writeFileSync(join(folder, `frame-${String(i + 1).padStart(2, '0')}.fits`), fitsFile(image, frameCards(plan, truth.startUtc)));
    });
    const answers = await watched(folder, readdirSync(folder).length);
    const clean = deeds.every((d) => !d.includes('bump'));
    plan.rotationsDeg.forEach((_, i) => {
      tally.looks++;
      const answer = answers.find((a) => a.file.endsWith(`-${String(i + 1).padStart(2, '0')}.fits`));
      if (!answer) return;
      tally.answered++;
      const truth = truthAt(plan, i);
      const up = (answer.altitude - truth.altitude) * 60;
      const side = (answer.azimuth - truth.azimuth) * 60 * Math.cos(plan.site.latitude);
      const sigmas = Math.hypot(up / (answer.sigma.altitude * 60), side / (answer.sigma.azimuth * 60 * Math.cos(plan.site.latitude)));
      const off = Math.hypot(up, side);
      const wrong = off > 3 && sigmas > 6;
      if (answer.doubts > 0) tally.doubts++;
      if (clean) { tally.cleanAnswers++; if (answer.doubts > 0) tally.cleanDoubts++; }
      if (wrong && (answer.doubts > 0 || answer.unconfirmed)) tally.wrongInDoubt++;
      else if (wrong) tally.wrong++;
      if (wrong) {
        const told = answer.doubts > 0 ? ', in doubt' : answer.unconfirmed ? ', two frames only' : ' WITHOUT A DOUBT';
        console.log(`  seed ${seed} frame ${i + 1}: off by ${off.toFixed(1)}″, ${deeds[i]}${told}`);
      }
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function truthAt(plan: NightPlan, frame: number): { altitude: number; azimuth: number } {
  const sum = (key: 'altitudeArcmin' | 'azimuthArcmin'): number =>
    plan.shifts.filter((s) => s.beforeFrame <= frame).reduce((total, s) => total + (s[key] ?? 0), 0);
  return { altitude: plan.altitudeErrorArcmin + sum('altitudeArcmin'), azimuth: plan.azimuthErrorArcmin + sum('azimuthArcmin') };
}

function draw(seed: number): Drawn {
  const { uniform, normal } = generator(seed * 104_729);
  const between = (a: number, b: number): number => a + (b - a) * uniform();
  const south = uniform() < 0.5;
  const site = makeSite({
    latitudeDeg: (south ? -1 : 1) * between(15, 65), longitudeDeg: between(-170, 170), elevationMetres: 300,
    pressureHectopascal: 975, temperatureCelsius: 8,
  });
  const [altitude, azimuth] = [normal() * 25, normal() * 35];
  const error = { altitude, azimuth };
  const deeds = ['first'];
  const rotations = [0];
  const shifts: Shift[] = [];
  const count = 7 + Math.floor(4 * uniform());
  const slew = (): void => { rotations[rotations.length - 1]! += (uniform() < 0.5 ? -1 : 1) * between(12, 40); };
  for (let i = 1; i < count; i++) {
    rotations.push(rotations.at(-1)!);
    const dice = uniform();
    if (i < 3) { slew(); deeds.push('slew'); continue; }
    const turn = (knob: 'altitude' | 'azimuth'): void => {
      const arcmin = -error[knob] * Math.exp(0.25 * normal()) + 0.1 * normal();
      shifts.push({ beforeFrame: i, [`${knob}Arcmin`]: arcmin });
      error[knob] += arcmin;
    };
    if (dice < 0.22) { turn('azimuth'); deeds.push('azimuth'); }
    else if (dice < 0.44) { turn('altitude'); deeds.push('altitude'); }
    else if (dice < 0.52) { turn('azimuth'); turn('altitude'); deeds.push('both knobs'); }
    else if (dice < 0.66) { turn(uniform() < 0.5 ? 'azimuth' : 'altitude'); slew(); deeds.push('knob and slew'); }
    else if (dice < 0.84) { slew(); deeds.push('slew'); }
    else if (dice < 0.93) deeds.push('nothing');
    else { shifts.push({ beforeFrame: i, declinationArcmin: (uniform() < 0.5 ? -1 : 1) * between(0.5, 20) }); deeds.push('bump'); }
  }
  const plan: NightPlan = {
    ...ordinaryNight(site, new Date(Date.UTC(2026, 10, 20, between(0, 24)))), seed,
    altitudeErrorArcmin: altitude, azimuthErrorArcmin: azimuth, rotationsDeg: rotations, shifts, tracking: uniform() < 0.6,
    intervalSeconds: between(25, 120), focalLengthMillimetres: between(120, 300), mirrored: uniform() < 0.3, rollDeg: between(0, 360),
    pointingOffsetDeg: between(0.05, 0.8), pointingDirectionDeg: between(0, 360),
  };
  return { plan, deeds };
}

/** What `watch` answers to all frames of a folder. */
function watched(folder: string, frames: number): Promise<Answer[]> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [
      new URL('../../dist/cli/main.js', import.meta.url).pathname, 'watch', folder, '--all', '--json', '--pressure', '975', '--temperature',
      '8',
    ], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    const answers: Answer[] = [];
    let heard = 0;
    let text = '';
    child.stdout.on('data', (chunk: Buffer) => {
      text += chunk.toString();
      const lines = text.split('\n');
      text = lines.pop()!;
      for (const line of lines) {
        const said = JSON.parse(line) as {
          axis?: {
            fromTruePole: { altitudeArcmin: number; azimuthArcmin: number }; sigma: { altitudeArcmin: number; azimuthArcmin: number };
          };
          frames?: { file: string }[]; doubts?: unknown[]; message?: string; unconfirmed?: boolean;
        };
        if (said.message !== 'ready') heard++;
        if (said.axis) {
          answers.push({
            file: said.frames![0]!.file, altitude: said.axis.fromTruePole.altitudeArcmin, azimuth: said.axis.fromTruePole.azimuthArcmin,
            sigma: { altitude: said.axis.sigma.altitudeArcmin, azimuth: said.axis.sigma.azimuthArcmin },
            doubts: said.doubts!.length, unconfirmed: said.unconfirmed ?? false,
          });
        }
        if (heard >= frames) child.kill('SIGINT');
      }
    });
    child.on('error', reject);
    child.on('exit', () => resolve(answers));
  });
}
