/**
 * How often the sigmas hold through ideal and through real optics and air, from rendered frames to the answer:
 * `npx tsx test/accuracy/roughStudy.ts [NIGHTS [CLASS [FIRST]]]`, NIGHTS of each class and both kinds (25 unless said). Writes a line for
 * each class; with ALL=1 in the environment one for each night that is off by three sigmas or was not solved, too.
 */
import { ARCSECOND } from '../../src/geometry/angle.js';
import { polarMotionSigma } from '../../src/sky/polarMotion.js';
import { ROUGH_CLASSES, roughNight } from './roughNights.js';
import { solveNight } from './solveNight.js';

const nights = Number(process.argv[2] ?? 25);
const first = Number(process.argv[4] ?? 0);
for (const kind of ROUGH_CLASSES.filter((k) => k.includes(process.argv[3] ?? ''))) {
  for (const rough of [false, true]) {
    const zs: number[] = [], misses: number[] = [], told: number[] = [], sigmas: number[] = [];
    let failed = 0, alarms = 0;
    const odd: string[] = [];
    for (let n = first; n < first + nights; n++) {
      const { plan, saidSite, swayArcsec } = roughNight(kind, rough, n);
      const frames = plan.rotationsDeg.length;
      const solved = solveNight({ number: n, optics: 'lens', frames, totalTurnDeg: 0, plan, saidSite });
      if (!solved.measurement) {
        failed++;
        odd.push(`  ${n}: ${solved.why}`);
        continue;
      }
      const aims = solved.aims.refracted;
      const z = (['separation', 'altitude', 'azimuth'] as const).map((key) => Math.abs(aims[key].error / aims[key].sigma));
      zs.push(...z);
      misses.push(solved.miss);
      sigmas.push(aims.separation.sigma);
      if (solved.referenceMiss !== null) told.push(solved.referenceMiss);
      if (solved.measurement.disagreement) alarms++;
      if (Math.max(...z) > 3) {
        odd.push(`  ${n}: ${z.map((v) => v.toFixed(1)).join(' ')} sigmas of ${(aims.separation.sigma / ARCSECOND).toFixed(2)}″; ${frames} `
          + `frames, ${plan.focalLengthMillimetres.toFixed(0)} mm, sway ${swayArcsec.toFixed(2)}″, stars ${solved.identified.join(' ')}`);
      }
    }
    const middle = (values: number[]): string => ((values.sort((a, b) => a - b)[values.length >> 1] ?? NaN) / ARCSECOND).toFixed(3);
    const share = (most: number): string => ((100 * zs.filter((z) => z < most).length) / zs.length).toFixed(1);
    console.log(`${kind.padEnd(20)}${rough ? 'rough' : 'ideal'}  ${misses.length} nights, ${failed} failed, ${alarms} alarms; `
      + `miss ${middle(misses)}″, told which is which ${middle(told)}″; sigma ${middle(sigmas)}″; within 1σ ${share(1)} %, `
      + `2σ ${share(2)} %, 3σ ${share(3)} %`);
    if (process.env['ALL']) for (const line of odd) console.log(line);
  }
}
console.log(`of these sigmas polar motion is ${(polarMotionSigma(new Date('2027-01-01')) / ARCSECOND).toFixed(2)}″`);
