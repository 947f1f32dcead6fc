/**
 * How often frames anywhere in the sky are identified, and how fast: `npx tsx test/identify/anywhereStudy.ts PART [FIELDS]`.
 * Parts: grid (nothing known; success by field width and disturbance), scale (focal length known to 4 %), place (that, and the
 * place to 5°), few (narrow fields, place and scale known, by the number of stars), galaxy (by distance from the galactic
 * plane), chance (shuffled stars: the highest odds that any pose reached), cost (frames that show no stars: time, memory).
 * Times are this process' own, from source; a built program is some 1.3 times as fast.
 */
import { DEGREE } from '../../src/geometry/angle.js';
import { type Vector, cross, fromSpherical, unit } from '../../src/geometry/vector.js';
import { apply, rotationAbout } from '../../src/geometry/rotation.js';
import { type PlaceHints, type Recognised, emptySkyMemory, identifyAnywhere } from '../../src/identify/identifyAnywhere.js';
import { partsFrom, searchSky } from '../../src/identify/searchSky.js';
import { atOnce } from '../../src/numeric/steps.js';
import { makeSpots } from '../../src/identify/spots.js';
import { type Random, makeRandom } from '../../src/simulate/random.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import {
  type AnywherePlan, SPOILS, type SimulatedField, type Spoil, poseDifference, simulateAnywhere, sky, wholeCatalogue,
} from './simulatedField.js';
import { shuffled } from './shuffled.js';
import { quantile } from './tally.js';

const SIZES = [[800, 600], [1280, 960], [4656, 3520]] as const;
/** Fewer true stars than this can hardly beat chance: such fields are counted apart. */
const POOR = 10;
/** To the north galactic pole, ICRS (from memory, to a tenth of a degree). */
const GALACTIC_POLE = fromSpherical(192.9 * DEGREE, 27.1 * DEGREE);

function anyDirection(random: Random): Vector {
  return fromSpherical(2 * Math.PI * random.uniform(), Math.asin(2 * random.uniform() - 1));
}

function planOf(widthDeg: number, spoil: Spoil, i: number): AnywherePlan {
  const [width, height] = SIZES[i % SIZES.length]!;
  const wide = widthDeg > 8;
  return {
    widthDeg, fromPoleDeg: 0, width, height, spoil, depth: [25, 50, 100, 200][i % 4]!,
    cornerDistortion: wide ? [0, -0.03, 0.03, -0.06][i % 4]! : 0, centreOff: wide ? 0.01 : 0,
  };
}

interface Tally {
  tried: number; solved: number; wrong: number; poor: number; poorSolved: number;
  readonly ms: number[];
  readonly missed: string[];
}

function emptyTally(): Tally {
  return { tried: 0, solved: 0, wrong: 0, poor: 0, poorSolved: 0, ms: [], missed: [] };
}

function cpu(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
}

function tryField(into: Tally, plan: AnywherePlan, field: SimulatedField, time: Date, hints: PlaceHints, label: string): void {
  const before = cpu();
  const found: Recognised | null = atOnce(identifyAnywhere(
    field.detections, plan.width, plan.height, wholeCatalogue, makeLocalSky(time, null), hints, emptySkyMemory()));
  const off = found ? poseDifference(field, plan.width, plan.height, found.identification.pose, found.identification.lens) : 0;
  const right = found !== null && off < 0.05 * plan.width;
  if (found && !right) into.wrong++;
  if (field.real < POOR) {
    into.poor++;
    if (right) into.poorSolved++;
    return;
  }
  into.tried++;
  into.ms.push(cpu() - before);
  if (right) into.solved++;
  else into.missed.push(`${label}:${field.real}/${field.detections.length}`);
}

function row(label: string, t: Tally): string {
  const [half, ninety, most] = [0.5, 0.9, 1].map((q) => (t.ms.length === 0 ? '-' : quantile(t.ms, q).toFixed(0)));
  const poor = t.poor > 0 ? `, poor ${t.poorSolved} of ${t.poor}` : '';
  const missed = t.missed.length > 0 ? `  missed (number:true/all) ${t.missed.join(' ')}` : '';
  const wrong = t.wrong > 0 ? ` WRONG ${t.wrong}` : '';
  return `${label.padEnd(22)} ${t.solved} of ${t.tried}${wrong}${poor}  ms ${half} ${ninety} ${most}${missed}`;
}

function timeOf(random: Random): Date {
  return new Date(Date.UTC(2024, 0, 1) + 4 * 365.25 * 86_400_000 * random.uniform());
}

function grid(count: number, hint: 'nothing' | 'scale' | 'place'): void {
  const total = emptyTally();
  for (const widthDeg of hint === 'place' ? [0.6, 1, 2, 4, 8, 15, 30, 55] : [1, 1.4, 2, 3, 4.5, 7, 10, 15, 22, 30, 42, 55]) {
    for (const spoil of SPOILS) {
      const t = emptyTally();
      for (let i = 0; i < count; i++) {
        const random = makeRandom(`anywhere ${widthDeg} ${spoil.name} ${i}`);
        const middle = anyDirection(random);
        const time = timeOf(random);
        const plan = planOf(widthDeg, spoil, i);
        const field = simulateAnywhere(plan, middle, makeLocalSky(time, null), random);
        const side = unit(cross(middle, anyDirection(random)));
        const hints: PlaceHints = hint === 'nothing' ? {} : {
          focalPixels: field.lens.focalPixels * (1 + 0.04 * random.normal()),
          ...(hint === 'place' ? { places: [apply(rotationAbout(side, 5 * DEGREE), middle)] } : {}),
        };
        tryField(t, plan, field, time, hints, String(i));
      }
      console.log(row(`${widthDeg}° ${spoil.name}`, t));
      for (const key of ['tried', 'solved', 'wrong', 'poor', 'poorSolved'] as const) total[key] += t[key];
      total.ms.push(...t.ms);
    }
  }
  console.log(row(`all, ${hint} known`, total));
}

function few(count: number): void {
  const rows = new Map<number, Tally>();
  for (let i = 0; i < count; i++) {
    const random = makeRandom(`few anywhere ${i}`);
    const middle = anyDirection(random);
    const time = timeOf(random);
    const spoil = { ...SPOILS[0]!, spurious: [0, 0.3, 0.5][i % 3]! };
    const plan = { ...planOf(0.35 + 0.45 * random.uniform(), spoil, i), depth: 5 + Math.floor(7 * random.uniform()) };
    const field = simulateAnywhere(plan, middle, makeLocalSky(time, null), random);
    const t = rows.get(field.real) ?? emptyTally();
    rows.set(field.real, t);
    const place = apply(rotationAbout(unit(cross(middle, anyDirection(random))), 3 * DEGREE), middle);
    tryField(t, plan, field, time, { places: [place], focalPixels: field.lens.focalPixels, only: true }, String(i));
  }
  for (const [real, t] of [...rows].sort((a, b) => a[0] - b[0])) {
    console.log(`${real} true stars: ${t.solved + t.poorSolved} of ${t.tried + t.poor}, ${t.wrong} wrong`);
  }
}

function galaxy(count: number): void {
  for (const [from, to] of [[0, 10], [10, 30], [30, 60], [60, 90]] as const) {
    for (const widthDeg of [1, 2, 4]) {
      const t = emptyTally();
      for (let i = 0; i < count; i++) {
        const random = makeRandom(`galaxy ${from} ${widthDeg} ${i}`);
        const latitude = Math.asin(Math.sin(from * DEGREE) + (Math.sin(to * DEGREE) - Math.sin(from * DEGREE)) * random.uniform());
        const side = unit(cross(GALACTIC_POLE, anyDirection(random)));
        const pole: Vector = random.uniform() < 0.5 ? GALACTIC_POLE : [-GALACTIC_POLE[0], -GALACTIC_POLE[1], -GALACTIC_POLE[2]];
        const middle = apply(rotationAbout(side, Math.PI / 2 - latitude), pole);
        const time = timeOf(random);
        const plan = planOf(widthDeg, SPOILS[1]!, i);
        const field = simulateAnywhere(plan, middle, makeLocalSky(time, null), random);
        tryField(t, plan, field, time, { focalPixels: field.lens.focalPixels }, String(i));
      }
      console.log(row(`${from}° to ${to}° off, ${widthDeg}°`, t));
    }
  }
}

/** Shuffled pictures: four widths with the scale known, so that each index is made once. */
function chance(count: number): void {
  const highest: number[] = [];
  const local = makeLocalSky(new Date('2026-02-03T21:00:00Z'), null);
  let judged = 0;
  for (let i = 0; i < count; i++) {
    const random = makeRandom(`shuffled ${i}`);
    const plan = { ...planOf([9, 14, 26, 50][i % 4]!, SPOILS[0]!, i), depth: 30 + Math.floor(120 * random.uniform()) };
    const field = simulateAnywhere(plan, anyDirection(random), local, random);
    const spots = makeSpots(shuffled(field, random), plan.width, plan.height);
    const focalPixels = plan.width / 2 / Math.tan((plan.widthDeg / 2) * DEGREE);
    let best = -Infinity;
    for (const pose of searchSky(spots, sky, local, { focalPixels }, partsFrom([0, 0, 1]))) {
      if (!pose) continue;
      judged++;
      best = Math.max(best, pose.logOdds);
    }
    highest.push(best);
    if ((i + 1) % 100 === 0) {
      highest.sort((a, b) => b - a);
      const most = highest.slice(0, 8).map((h) => h.toFixed(1)).join(' ');
      console.log(`${i + 1} shuffled pictures, ${judged} poses judged; highest log odds ${most}`
        + ` (accepted from ${Math.log(1e9).toFixed(1)})`);
    }
  }
}

function cost(): void {
  for (const [count, width, height] of [[200, 4656, 3520]] as const) {
    const random = makeRandom(`cost ${count}`);
    const detections = Array.from({ length: count }, () => ({
      x: random.uniform() * width, y: random.uniform() * height, sigma: 0.1, flux: 1, signalToNoise: 20, fwhm: 2.5, elongation: 1,
      saturated: false, blended: false,
    }));
    const local = makeLocalSky(new Date('2026-03-01T20:00:00Z'), null);
    const focal = (degrees: number): number => width / 2 / Math.tan((degrees / 2) * DEGREE);
    const asked: [string, PlaceHints][] = [
      ['nothing', {}], ...[1, 2, 4, 20].map((w): [string, PlaceHints] => [`${w}°`, { focalPixels: focal(w), only: true }]),
      ...[1, 4, 20].map((w): [string, PlaceHints] => [`${w}° and place, lens`, {
        lens: { focalPixels: focal(w), centreX: width / 2, centreY: height / 2, radial: [], mirrored: false }, places: [[1, 0, 0]],
      }]),
    ];
    for (const [label, hints] of asked) {
      const before = cpu();
      let last = before, longest = 0;
      const steps = identifyAnywhere(detections, width, height, wholeCatalogue, local, hints, emptySkyMemory());
      for (let step = steps.next(); !step.done; step = steps.next()) {
        longest = Math.max(longest, cpu() - last);
        last = cpu();
      }
      console.log(`${count} spots of nothing, known: ${label.padEnd(20)} ${(cpu() - before).toFixed(0)} ms,`
        + ` longest step ${longest.toFixed(0)} ms,`
        + ` resident ${(process.memoryUsage().rss / 1e6).toFixed(0)} MB`);
    }
  }
}

const [part = 'grid', fields = '4'] = process.argv.slice(2);
const count = Number(fields);
if (part === 'grid') grid(count, 'nothing');
if (part === 'scale') grid(count, 'scale');
if (part === 'place') grid(count, 'place');
if (part === 'few') few(count);
if (part === 'galaxy') galaxy(count);
if (part === 'chance') chance(count);
if (part === 'cost') cost();
