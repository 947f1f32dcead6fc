/**
 * npx tsx test/knobs/study.ts: how many simulated nights with a hidden knob reach one arcminute, with learning and without.
 * One round: azimuth and altitude turned as advised, then measured.
 */
import { type Hand, type Night, nightNumber, playNight } from './hiddenMount.js';

const NIGHTS = 500;
const ROUNDS = 8;

const hands: [string, Hand][] = [
  ['0.03, nudge 0.01', { floor: 0.01, share: 0.04, most: 0.03, marks: true, measureArcsec: 3 }],
  ['same, no mark', { floor: 0.01, share: 0.04, most: 0.03, marks: false, measureArcsec: 3 }],
  ['always 0.02', { floor: 0.02, share: 0, most: 1, marks: true, measureArcsec: 3 }],
  ['always 0.05', { floor: 0.05, share: 0, most: 1, marks: true, measureArcsec: 3 }],
];
const rigs: [string, (night: Night) => Night][] = [
  ['travel off by 40 %', (night) => night],
  ['direction wrong too', ({ rig, ...night }) => ({
    ...night, rig: { knobs: {
      azimuth: { ...rig!.knobs!.azimuth!, clockwise: rig!.knobs!.azimuth!.clockwise === 'east' ? 'west' : 'east' },
      altitude: { ...rig!.knobs!.altitude!, clockwise: rig!.knobs!.altitude!.clockwise === 'raise' ? 'lower' : 'raise' },
    } },
  })],
  ['no rig file', (night) => ({ ...night, rig: null })],
];

console.log(`${NIGHTS} nights: share that is under 1′ after so many rounds; median and 95th percentile of rounds`);
console.log('rig file             hand             learns    1    2    3    4    5    8   median  95 %');
for (const [rigName, change] of rigs) {
  for (const [handName, hand] of hands) {
    for (const learn of [true, false]) {
      if (!learn && rigName !== rigs[0]![0]) continue;
      const rounds = Array.from({ length: NIGHTS }, (_, n) => {
        const after = playNight(change(nightNumber(n)), hand, learn, ROUNDS, n);
        return (after.at(-1) ?? 0) < 1 ? after.length : Infinity;
      }).sort((a, b) => a - b);
      const within = (most: number): string => String(Math.round(rounds.filter((r) => r <= most).length / NIGHTS * 1000) / 10).padStart(5);
      const at = (share: number): string =>
        (Number.isFinite(rounds[Math.floor(share * NIGHTS)]) ? String(rounds[Math.floor(share * NIGHTS)]) : `> ${ROUNDS}`);
      console.log(
        `${rigName.padEnd(20)} ${handName.padEnd(16)} ${learn ? 'yes' : 'no '} ${[1, 2, 3, 4, 5, 8].map(within).join('')}  `
          + `${at(0.5).padStart(6)} ${at(0.95).padStart(6)}`,
      );
    }
  }
}

// The test asserts the first row's three rounds on the nights of this seed; others show how much that is luck.
const others = ['b', 'c', 'd', 'e', 'f'].map((seed) => {
  const done = Array.from({ length: NIGHTS }, (_, n) => playNight(nightNumber(n, seed), hands[0]![1], true, 3, `${seed}${n}`)).filter(
    (s) => (s.at(-1) ?? 0) < 1,
  );
  return Math.round(done.length / NIGHTS * 1000) / 10;
});
console.log(`first row, three rounds, 500 other nights each: ${others.join(', ')} %`);
