/**
 * `npm run accuracy [-- NIGHTS]`: invented nights of every kind (NIGHTS of each, 60 unless said), rendered, solved as `measure`
 * does, and compared with the truth and with the reference fit, which knows which star is which and the true lens; then the table
 * of hard skies, 20 nights of each. `npm run accuracy -- --hard [NIGHTS [KIND]]`: that table alone.
 */
import { median } from '../bench/timeProcess.js';
import { CLASSES } from './classes.js';
import { hardSkies } from './hardSkies.js';
import { runParts } from './runParts.js';

interface Row {
  index: number; solved: boolean; why: string; miss: number; reference: number | null;
  least: number; alarm: boolean; sigma: number; z: number[];
}

const hard = process.argv[2] === '--hard';
if (!hard) {
  await ordinaryNights(Number(process.argv[2] ?? 60));
  console.log('');
}
await hardSkies(Number((hard ? process.argv[3] : undefined) ?? 20), (hard ? process.argv[4] : undefined) ?? '');

async function ordinaryNights(nights: number): Promise<void> {
  const rows = await runParts<Row>('./part.ts', [String(nights)]);
  const solved = rows.filter((row) => row.solved);

  console.log(`${rows.length} nights, ${nights} of each of ${CLASSES.length} kinds; sites 10° to 70° north and south; errors up to `
    + `60′ a knob`);
  console.log(`solved ${solved.length}; largest miss ${Math.max(...solved.map((r) => r.miss)).toFixed(1)}″; more than 2″ with eight `
    + `stars or more in every frame: ${solved.filter((r) => r.miss > 2 && r.least >= 8).length}`);
  for (const row of solved.filter((r) => r.miss > 2 && r.least >= 8)) {
    console.log(`  ${name(row.index)}: ${row.miss.toFixed(1)}″, sigma of the separation ${row.sigma.toFixed(1)}″; reference `
      + `${row.reference === null ? 'not solved' : `${row.reference.toFixed(1)}″`}`);
  }
  for (const row of rows.filter((r) => !r.solved)) console.log(`  not solved: ${name(row.index)}: ${row.why}`);
  console.log(`false alarms of not-one-rotation: ${solved.filter((r) => r.alarm).length} of `
    + `${solved.filter((r) => CLASSES[r.index]!.frames > 2).length}`);
  console.log('\nmiss: angle on the sky between axis found and true, from the refracted pole, median; ref: of the reference fit; '
    + 'inside: share of nights');
  console.log('whose error in separation, altitude, azimuth (together) lies within one and two of the sigmas given; goal 68 and 95 %\n');
  console.log('                          nights  miss    ref  ratio  sigma   inside 1σ 2σ: refracted   true pole');
  line('all', solved);
  for (const optics of ['guide scope', 'telescope', 'lens']) line(optics, solved.filter((r) => CLASSES[r.index]!.optics === optics));
  for (const frames of [2, 3, 5]) line(`${frames} frames`, solved.filter((r) => CLASSES[r.index]!.frames === frames));
  for (const turn of [10, 90]) line(`${turn}° of turn`, solved.filter((r) => CLASSES[r.index]!.totalTurnDeg === turn));
  for (let index = 0; index < CLASSES.length; index++) line(name(index), solved.filter((r) => r.index === index));
}

function name(index: number): string {
  const c = CLASSES[index]!;
  return `${c.optics}, ${c.frames} frames, ${c.totalTurnDeg}°`;
}

function line(title: string, some: readonly Row[]): void {
  const reference = some.filter((r) => r.reference !== null);
  const miss = median(some.map((r) => r.miss));
  const best = median(reference.map((r) => r.reference!));
  const inside = (from: number, sigmas: number): string => {
    const z = some.flatMap((r) => r.z.slice(from, from + 3));
    return `${((100 * z.filter((v) => Math.abs(v) < sigmas).length) / z.length).toFixed(0).padStart(4)} %`;
  };
  console.log(`${title.padEnd(26)}${String(some.length).padStart(5)}  ${miss.toFixed(2).padStart(5)}″ ${best.toFixed(2).padStart(5)}″ `
    + `${(miss / best).toFixed(2).padStart(5)}  ${median(some.map((r) => r.sigma)).toFixed(2).padStart(5)}″            `
      + `${inside(0, 1)} ${inside(0, 2)}   ${inside(3, 1)} ${inside(3, 2)}`);
}
