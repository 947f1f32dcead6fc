/**
 * How often the sigmas hold, from star lists: `npx tsx test/accuracy/starListStudy.ts [NIGHTS [FRAME SWAY IN ARCSECONDS [CLASS]]]`.
 * For a first comparison when an estimator is changed; the published figures come from pixels (`roughStudy.ts`).
 */
import { axisError, horizontal } from '../../src/axis/axisError.js';
import { measureAxis } from '../../src/axis/measureAxis.js';
import { ARCSECOND } from '../../src/geometry/angle.js';
import { ROUGH_CLASSES, roughNight } from './roughNights.js';
import { starLists } from './starLists.js';

const [nights = 100, sway = 0] = process.argv.slice(2, 4).map(Number);
for (const kind of ROUGH_CLASSES.filter((k) => k.includes(process.argv[4] ?? ''))) {
  for (const rough of [false, true]) {
    const zs: number[] = [], misses: number[] = [], sigmas: number[] = [];
    let failed = 0, alarms = 0, milliseconds = 0, stars = 0;
    for (let n = 0; n < nights; n++) {
      const { frames, axis, refractedPole } = starLists(roughNight(kind, rough, n), rough ? sway : 0);
      const begin = performance.now();
      try {
        const m = measureAxis(frames, 'refracted');
        milliseconds += performance.now() - begin;
        const truth = axisError(axis, refractedPole);
        const found = m.fromRefractedPole;
        for (const key of ['separation', 'altitude', 'azimuth'] as const) zs.push(Math.abs(found[key] - truth[key]) / m.sigma[key]);
        misses.push(Math.hypot(found.altitude - truth.altitude, (found.azimuth - truth.azimuth) * Math.cos(horizontal(axis).altitude)));
        sigmas.push(m.sigma.separation);
        stars += frames[0]!.identification.stars.length;
        if (m.disagreement) alarms++;
      } catch {
        failed++;
      }
    }
    const middle = (values: number[]): string => ((values.sort((a, b) => a - b)[values.length >> 1] ?? NaN) / ARCSECOND).toFixed(3);
    const share = (most: number): string => ((100 * zs.filter((z) => z < most).length) / zs.length).toFixed(1);
    console.log(`${kind.padEnd(20)}${rough ? 'rough' : 'ideal'}  ${misses.length} nights, ${failed} failed, ${alarms} alarms; `
      + `miss ${middle(misses)}″ sigma ${middle(sigmas)}″; within 1σ ${share(1)} %, 2σ ${share(2)} %, 3σ ${share(3)} %; `
      + `${(stars / misses.length).toFixed(0)} stars, ${(milliseconds / misses.length).toFixed(1)} ms`);
  }
}
