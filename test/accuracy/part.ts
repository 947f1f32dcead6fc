/** Solves some nights of the accuracy study and writes one JSON line for each: `tsx part.ts PART PARTS NIGHTS`. */
import { CLASSES, nightOf } from './classes.js';
import { arcseconds, solveNight } from './solveNight.js';

const [part = 0, parts = 1, nights = 60] = process.argv.slice(2).map(Number);
for (let index = 0; index < CLASSES.length; index++) {
  for (let n = part; n < nights; n += parts) {
    const solved = solveNight(nightOf(index, n));
    const { aims, measurement } = solved;
    process.stdout.write(`${JSON.stringify({
      index, n, solved: measurement !== null, why: solved.why, miss: arcseconds(solved.miss),
      reference: solved.referenceMiss === null ? null : arcseconds(solved.referenceMiss),
      least: Math.min(...solved.identified), alarm: measurement?.disagreement !== null && measurement !== null,
      sigma: arcseconds(aims.refracted.separation.sigma),
      z: (['refracted', 'true'] as const).flatMap((aim) =>
        (['separation', 'altitude', 'azimuth'] as const).map((key) => aims[aim][key].error / aims[aim][key].sigma)),
    })}\n`);
  }
}
