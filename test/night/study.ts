/**
 * Invented nights of looks, knobs, slews and bumps: how many looks are answered, how many wrongly, how many in doubt.
 * `npx tsx test/night/study.ts [NIGHTS [FIRST SEED]]`
 */
import { judgeNights, tableOf } from './judgeNights.js';

const [nights, first] = [Number(process.argv[2] ?? 10_000), Number(process.argv[3] ?? 1)];
console.log(tableOf(judgeNights(first, nights), nights, first));
