/** `npx tsx test/identify/roughStudy.ts [NIGHTS [KIND [FIRST]]]`: how many nights of each rough kind are solved, and how many wrongly. */
import { isWrong, solveHard } from '../accuracy/solveHard.js';
import { ROUGH_KINDS, roughNight } from './roughKinds.js';

const [nights, only, first] = [Number(process.argv[2] ?? 200), process.argv[3] ?? '', Number(process.argv[4] ?? 0)];
for (const kind of ROUGH_KINDS.filter((k) => k.includes(only))) {
  let solved = 0, wrong = 0;
  for (let n = first; n < first + nights; n++) {
    const answer = await solveHard(roughNight(kind, n));
    if (answer.solved) solved++;
    else console.log(`  ${kind} ${n}: ${answer.refusal.split('\n')[0]!.replace(/\/\S*\//g, '')}`);
    if (!isWrong(answer)) continue;
    wrong++;
    console.log(`  ${kind} ${n}: WRONG, ${answer.z.map((z) => z.toFixed(1)).join(' ')} sigmas`);
  }
  console.log(`${kind}: ${nights} nights, ${solved} solved, ${wrong} of them wrong by more than four sigmas`);
}
