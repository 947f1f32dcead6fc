/**
 * Two invented nights of each hard sky, from the file saved to the answer: right within four of its own sigmas, or refused in a
 * sentence. `npm run accuracy -- --hard` studies more of them; hardSkies.txt is what it said.
 */
import { describe, expect, test } from 'vitest';
import { HARD_KINDS, hardNight } from './hardKinds.js';
import { type HardAnswer, isWrong, solveHard } from './solveHard.js';

describe('hard skies', () => {
  // The first night of each is a guide scope's, the third a lens's.
  test.each(HARD_KINDS)('%s: right within four sigmas, or refused in a sentence', async (kind) => {
    const answers: HardAnswer[] = [];
    for (const n of [0, 2]) answers.push(await solveHard(hardNight(kind, n)));
    expect(answers.filter(isWrong)).toEqual([]);
    // Refusing all would be no feat: nothing here hides the whole sky.
    expect(answers.filter((a) => a.solved).length, answers.map((a) => a.refusal).join('\n')).toBeGreaterThanOrEqual(1);
    for (const { refusal } of answers.filter((a) => !a.solved)) expect(refusal).toMatch(/^[a-z-]+: [A-Z].*\. .*\.$/s);
  });

  // The pole 10° high, a lens that sees down to the horizon, air 2 % denser than the person says: moves the axis sideways by 1.6″.
  test('air denser than said, low over the horizon, is covered by the sigmas', async () => {
    const { kind, study, stored } = hardNight('satellite trails', 8);
    const { plan, saidSite } = study;
    expect(plan.site.pressureHectopascal / saidSite.pressureHectopascal).toBeCloseTo(1.0195, 3);
    const answer = await solveHard({ kind, stored, study: { ...study, plan: { ...plan, hardSky: {} } } });
    expect(answer.missArcsec).toBeGreaterThan(1);
    // The air is 1.95 of the sigmas assumed off, and so is what it does to the axis.
    expect(Math.max(...answer.z.map(Math.abs))).toBeLessThan(3);
  });
});
