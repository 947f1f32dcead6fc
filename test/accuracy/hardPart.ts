/** Solves some nights of the hard skies and writes one JSON line for each: `tsx hardPart.ts PART PARTS NIGHTS [KIND]`. */
import { HARD_KINDS, hardNight } from './hardKinds.js';
import { solveHard } from './solveHard.js';

const [part = 0, parts = 1, nights = 20] = process.argv.slice(2, 5).map(Number);
for (const kind of HARD_KINDS.filter((k) => k.includes(process.argv[5] ?? ''))) {
  for (let n = part; n < nights; n += parts) process.stdout.write(`${JSON.stringify({ n, ...(await solveHard(hardNight(kind, n))) })}\n`);
}
