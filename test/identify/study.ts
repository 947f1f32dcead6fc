/**
 * How often frames are identified, how fast, and how near chance comes: `npx tsx test/identify/study.ts [part] [fields] [first]`.
 * Parts: grid (success by field width, distance from the pole and disturbance), lens (distortion, sizes, low poles), hints, few
 * (success by the number of true stars); chance (fields nowhere near a pole, and polar ones against the other pole's stars:
 * the highest odds any pose reached; takes about a second a field).
 */
import { ACCEPTED_ODDS } from '../../src/identify/chanceOdds.js';
import { type SearchMemory, searchPoses } from '../../src/identify/searchPose.js';
import { makeSpots } from '../../src/identify/spots.js';
import { starCap } from '../../src/identify/starCap.js';
import { makeRandom } from '../../src/simulate/random.js';
import { type Hemisphere, makeLocalSky } from '../../src/sky/localSky.js';
import { type FarField, realFarFields, uniformFarField } from './farFields.js';
import { type FieldPlan, SPOILS, type Spoil, half, simulateField } from './simulatedField.js';
import { type Tally, emptyTally, quantile, tally } from './tally.js';

function row(label: string, t: Tally): string {
  const percent = t.tried === 0 ? '   -' : `${((100 * t.solved) / t.tried).toFixed(0).padStart(3)}%`;
  const poor = t.poor > 0 ? ` (poor ${t.poorSolved}/${t.poor})` : '';
  const pairs = t.pairs > 0 ? ` true pairs ${((100 * (t.pairs - t.falsePairs)) / t.pairs).toFixed(2)}%` : '';
  const wrong = t.wrong > 0 ? ` WRONG ${t.wrong}` : '';
  const [half, ninety, most] = [0.5, 0.9, 1].map((q) => quantile(t.ms, q).toFixed(0));
  const times = `ms median ${half} 90% ${ninety} most ${most}`;
  return `${label.padEnd(38)} ${percent} of ${String(t.tried).padStart(4)}${wrong}  ${times}${pairs}${poor}`;
}

const SIZES = [[800, 600], [1280, 960], [4656, 3520]] as const;

function basePlan(widthDeg: number, fromPoleDeg: number, spoil: Spoil, i: number): FieldPlan {
  const [width, height] = SIZES[i % SIZES.length]!;
  const hemisphere: Hemisphere = i % 2 === 0 ? 1 : -1;
  // Lenses wide enough to have distortion have some.
  const cornerDistortion = widthDeg > 8 ? [0, -0.03, 0.03, -0.06][i % 4]! : 0;
  return {
    hemisphere, widthDeg, fromPoleDeg, width, height, spoil, cornerDistortion, centreOff: widthDeg > 8 ? 0.01 : 0, latitudeDeg: 45,
    depth: [25, 50, 100, 200][i % 4]!,
  };
}

function grid(count: number): void {
  const total = emptyTally();
  for (const widthDeg of [0.5, 0.8, 1.3, 2.5, 5, 9, 15, 25, 40, 60]) {
    for (const fromPoleDeg of widthDeg < 9 ? [0, 2, 5, 10] : [3]) {
      for (const spoil of SPOILS) {
        const t = emptyTally();
        for (let i = 0; i < count; i++) {
          const plan = basePlan(widthDeg, fromPoleDeg, spoil, i);
          const field = simulateField(plan, makeRandom(`grid ${widthDeg} ${fromPoleDeg} ${spoil.name} ${i}`));
          tally(t, plan, field, {}, new Map());
        }
        console.log(row(`${String(widthDeg).padStart(4)}° wide ${String(fromPoleDeg).padStart(2)}° off ${spoil.name}`, t));
        add(total, t);
      }
    }
  }
  console.log(row('all', total));
}

function add(total: Tally, t: Tally): void {
  total.tried += t.tried; total.solved += t.solved; total.wrong += t.wrong; total.poor += t.poor; total.poorSolved += t.poorSolved;
  total.ms.push(...t.ms); total.pairs += t.pairs; total.falsePairs += t.falsePairs;
}

function lenses(count: number): void {
  for (const spoil of [SPOILS[0]!, SPOILS[2]!]) {
    for (const widthDeg of [12, 25, 45, 60]) {
      for (const cornerDistortion of [-0.1, -0.05, 0, 0.05, 0.1]) {
        const t = emptyTally();
        for (let i = 0; i < count; i++) {
          const plan = { ...basePlan(widthDeg, 3, spoil, i), cornerDistortion, centreOff: 0.02 };
          tally(t, plan, simulateField(plan, makeRandom(`lens ${widthDeg} ${cornerDistortion} ${spoil.name} ${i}`)), {}, new Map());
        }
        console.log(row(`${widthDeg}° wide, corner ${100 * cornerDistortion} %, ${spoil.name}`, t));
      }
    }
  }
  for (const [width, height] of [[640, 480], [1936, 1096], [9500, 6300]] as const) {
    for (const widthDeg of [1, 4, 30]) {
      const t = emptyTally();
      for (let i = 0; i < count; i++) {
        const plan = { ...basePlan(widthDeg, 1, SPOILS[2]!, i), width, height };
        tally(t, plan, simulateField(plan, makeRandom(`size ${width} ${widthDeg} ${i}`)), {}, new Map());
      }
      console.log(row(`${width}x${height} ${widthDeg}° wide, half`, t));
    }
  }
  for (const latitudeDeg of [8, 10, 15]) {
    for (const widthDeg of [1, 3, 10, 30]) {
      const t = emptyTally();
      for (let i = 0; i < count; i++) {
        const plan = { ...basePlan(widthDeg, 2, SPOILS[2]!, i), latitudeDeg };
        tally(t, plan, simulateField(plan, makeRandom(`low ${latitudeDeg} ${widthDeg} ${i}`)), {}, new Map());
      }
      console.log(row(`pole ${latitudeDeg}° up, ${widthDeg}° wide, half`, t));
    }
  }
}

function hints(count: number): void {
  for (const off of [1, 1.05, 0.95, 1.3, 1 / 1.3, 3]) {
    for (const widthDeg of [0.8, 1.3, 4, 20]) {
      const t = emptyTally();
      for (let i = 0; i < count; i++) {
        const plan = basePlan(widthDeg, 1, SPOILS[1]!, i);
        const field = simulateField(plan, makeRandom(`hint ${widthDeg} ${i}`));
        tally(t, plan, field, { focalPixels: field.lens.focalPixels * off }, new Map());
      }
      console.log(row(`hint × ${off.toFixed(2)}, ${widthDeg}° wide, quarter`, t));
    }
  }
  for (const widthDeg of [0.8, 1.3, 4, 20, 50]) {
    const t = emptyTally();
    for (let i = 0; i < count; i++) {
      const plan = basePlan(widthDeg, 1, SPOILS[2]!, i);
      const field = simulateField(plan, makeRandom(`lens known ${widthDeg} ${i}`));
      tally(t, plan, field, { lens: field.lens }, new Map());
    }
    console.log(row(`lens known, ${widthDeg}° wide, half`, t));
  }
}

function few(count: number): void {
  const rows = new Map<number, Tally>();
  for (const spoil of SPOILS) {
    for (const widthDeg of [0.5, 0.7, 1, 2, 6, 20]) {
      for (let i = 0; i < count; i++) {
        const plan = { ...basePlan(widthDeg, 2, spoil, i), depth: 6 + Math.floor(14 * makeRandom(`depth ${i} ${widthDeg}`).uniform()) };
        const field = simulateField(plan, makeRandom(`few ${widthDeg} ${spoil.name} ${i}`));
        if (field.real > 16) continue;
        const t = rows.get(field.real) ?? emptyTally();
        rows.set(field.real, t);
        tally(t, plan, field, {}, new Map());
      }
    }
  }
  for (const [real, t] of [...rows].sort((a, b) => a[0] - b[0])) {
    console.log(`${String(real).padStart(2)} true stars: ${t.solved + t.poorSolved} of ${t.tried + t.poor} identified, ${t.wrong} wrong`);
  }
}

/** Highest odds that chance reached. */
function chance(count: number, from: number): void {
  const memories: Record<Hemisphere, SearchMemory> = { 1: new Map(), [-1]: new Map() };
  const caps = ([1, -1] as const).map((hemisphere) => starCap(half(hemisphere), makeLocalSky(new Date('2025-03-01T20:00:00Z'), null)));
  const judge = (label: string, fields: readonly FarField[]): void => {
    const highest: number[] = [];
    let judged = 0;
    for (const [i, field] of fields.entries()) {
      const cap = caps[i % 2]!;
      let best = -Infinity;
      for (const pose of searchPoses(makeSpots(field.places, field.width, field.height), cap, {}, memories[i % 2 === 0 ? 1 : -1])) {
        if (!pose) continue;
        judged++;
        best = Math.max(best, pose.logOdds);
      }
      highest.push(best);
    }
    highest.sort((a, b) => b - a);
    const accepted = highest.filter((h) => h >= Math.log(ACCEPTED_ODDS)).length;
    const most = highest.slice(0, 8).map((h) => h.toFixed(1)).join(' ');
    console.log(`${label}: ${fields.length} fields, ${judged} poses judged, `
      + `accepted ${accepted} (from ${Math.log(ACCEPTED_ODDS).toFixed(1)}); `
      + `highest log odds of a field: ${most}; median ${quantile(highest, 0.5).toFixed(1)}`);
  };
  judge('real fields', realFarFields().slice(from, from + count));
  judge('evenly scattered', Array.from({ length: Math.ceil(count / 2) }, (_, i) => uniformFarField(makeRandom(`far ${from + i}`))));
  judge('other pole', Array.from({ length: Math.ceil(count / 4) }, (_, i) => {
    const random = makeRandom(`other pole ${from + i}`);
    // Field i is tried with the stars of pole i % 2 and shows the other one.
    const hemisphere: Hemisphere = i % 2 === 0 ? -1 : 1;
    const plan = { ...basePlan(0.5 * 120 ** random.uniform(), 4 * random.uniform(), SPOILS[0]!, i), hemisphere };
    const field = simulateField(plan, random);
    return { width: plan.width, height: plan.height, focalPixels: field.lens.focalPixels, places: field.detections };
  }));
}

const [part = 'all', fields = '12', first = '0'] = process.argv.slice(2);
if (part === 'grid' || part === 'all') grid(Number(fields));
if (part === 'lens' || part === 'all') lenses(Number(fields));
if (part === 'hints' || part === 'all') hints(Number(fields));
if (part === 'few' || part === 'all') few(Number(fields));
if (part === 'chance') chance(Number(fields), Number(first));
