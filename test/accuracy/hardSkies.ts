/**
 * The hard-skies table: `npm run accuracy -- --hard [NIGHTS [KIND]]`, NIGHTS of each kind (20 unless said), of the kinds whose name
 * contains KIND.
 */
import { HARD_KINDS } from './hardKinds.js';
import { runParts } from './runParts.js';
import { type HardAnswer, isWrong, WRONG_BEYOND } from './solveHard.js';

export async function hardSkies(nights: number, only: string): Promise<void> {
  const answers = await runParts<HardAnswer & { n: number }>('./hardPart.ts', [String(nights), only]);
  console.log(`Hard skies: ${nights} nights of each kind, three frames a night, a third with lenses, two thirds with guide scopes.`);
  console.log(`wrong: farther than ${WRONG_BEYOND} of its own sigmas from the truth in separation, altitude or azimuth, from either pole;`);
  console.log('worst: the farthest of these, in sigmas; miss: angle on the sky from the refracted pole between axis found and true\n');
  console.log('kind                                nights solved refused wrong   worst    miss: median   worst');
  for (const kind of HARD_KINDS.filter((k) => k.includes(only))) console.log(row(kind, answers.filter((a) => a.kind === kind)));
  console.log(row('all', answers));
  const odd = answers.filter((a) => !a.solved || isWrong(a)).sort(
    (a, b) => HARD_KINDS.indexOf(a.kind) - HARD_KINDS.indexOf(b.kind) || a.n - b.n,
  );
  if (odd.length > 0) console.log('');
  for (const a of odd) {
    console.log(a.solved
      ? `WRONG: ${a.kind} ${a.n}: ${a.z.map((v) => v.toFixed(1)).join(' ')} σ, ${a.missArcsec.toFixed(2)}″, ${a.frames} frames, `
        + `warned of ${a.warnings.join(', ') || 'nothing'}`
      : `refused: ${a.kind} ${a.n}: ${a.refusal.split('\n')[0]!.replace(/\/\S*\//g, '')}`);
  }
}

function row(kind: string, answers: readonly HardAnswer[]): string {
  const solved = answers.filter((a) => a.solved);
  const worst = Math.max(0, ...solved.flatMap((a) => a.z.map(Math.abs)));
  const misses = solved.map((a) => a.missArcsec).sort((a, b) => a - b);
  const cell = (value: number, width: number): string => String(value).padStart(width);
  return `${kind.padEnd(36)}${cell(answers.length, 6)}${cell(solved.length, 7)}${cell(answers.length - solved.length, 8)}`
    + cell(answers.filter(isWrong).length, 6)
    + `${worst.toFixed(1).padStart(7)}σ${(misses[misses.length >> 1] ?? NaN).toFixed(2).padStart(15)}″`
    + `${(misses.at(-1) ?? NaN).toFixed(2).padStart(7)}″`;
}
