/**
 * The axis from frames anywhere in the sky: `npx tsx test/accuracy/anywhere.ts [NIGHTS [FIRST]]`. Solved, wrong (beyond four sigmas),
 * and how often one sigma holds, by hint, optics and distance from the pole. With ALL=1 in the environment a line for each night.
 */
import { type SolvedAnywhere, anywhereNight, solveAnywhere } from './anywhereNights.js';

const [count = 500, first = 0] = process.argv.slice(2).map(Number);
const nights: SolvedAnywhere[] = [];
for (let number = first; number < first + count; number++) {
  const begin = process.cpuUsage();
  const solved = solveAnywhere(anywhereNight(number), number % 2 === 0 ? 'refracted' : 'true');
  const { user, system } = process.cpuUsage(begin);
  nights.push(solved);
  const { night: { optics, hint, fromPoleDeg, lowestDeg, turnDeg, air }, why, z, missArcmin, sigmaArcmin, identified } = solved;
  const about = `${number} ${optics}, ${hint}, ${fromPoleDeg.toFixed(0)}° from the pole, down to ${lowestDeg.toFixed(0)}°, turned `
    + `${turnDeg.toFixed(0)}°, air ${air ? 'told' : 'not told'}`;
  const worst = Math.max(...Object.values(z).map(Math.abs));
  if (why !== '' || worst > 3 || process.env['ALL']) {
    console.log(`${about}: ${why || `off ${missArcmin.toFixed(3)}′ ± ${sigmaArcmin.toFixed(3)}′, ${worst.toFixed(1)} sigmas`} stars `
      + `${identified.join(' ')}, ${((user + system) / 1e6).toFixed(1)} s`);
  }
  if ((number - first + 1) % 50 === 0) summary(`after ${number - first + 1}`, nights);
}
for (const hint of ['place', 'scale', 'nothing'] as const) summary(`known: ${hint}`, nights.filter((n) => n.night.hint === hint));
for (const optics of ['lens', 'guide scope', 'telescope'] as const) summary(optics, nights.filter((n) => n.night.optics === optics));
for (const [from, to] of [[15, 40], [40, 70], [70, 100], [100, 120]] as const) {
  summary(`${from}° to ${to}° from the pole`, nights.filter((n) => n.night.fromPoleDeg >= from && n.night.fromPoleDeg < to));
}
summary('all', nights);

function summary(label: string, some: readonly SolvedAnywhere[]): void {
  const solved = some.filter((n) => n.why === '');
  const all = (key: 'altitude' | 'azimuth' | 'separation'): number[] => solved.map((n) => Math.abs(n.z[key]));
  const share = (values: readonly number[], most: number): string =>
    (100 * values.filter((v) => v < most).length / values.length).toFixed(0);
  const zs = [...all('altitude'), ...all('azimuth')];
  const middle = (values: number[]): string => (values.sort((a, b) => a - b)[values.length >> 1] ?? NaN).toFixed(3);
  const beyond = solved.filter((n) => Math.max(...Object.values(n.z).map(Math.abs)) > 4).length;
  console.log(`${label.padEnd(28)} ${solved.length} of ${some.length} solved; beyond 4 sigmas ${beyond}; one sigma holds `
    + `${share(zs, 1)} % (altitude ${share(all('altitude'), 1)}, azimuth ${share(all('azimuth'), 1)}), two ${share(zs, 2)} %; `
    + `median off ${middle(solved.map((n) => n.missArcmin))}′`);
}
