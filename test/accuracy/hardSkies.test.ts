/**
 * An invented night of some hard skies, from the file saved to the answer: right within four of its own sigmas, or refused in a
 * sentence. `npm run accuracy -- --hard` studies all kinds, twenty nights each; hardSkies.txt is what it said.
 */
import { describe, expect, test } from 'vitest';
import { HARD_KINDS, hardNight } from './hardKinds.js';
import { type HardAnswer, isWrong, solveHard } from './solveHard.js';

/** Those that are solved quickly. */
const KINDS = [
  'tree line', 'aircraft trail', 'moon gradient', 'thousands of hot pixels', 'defocus, FWHM 5 to 10 px', 'undersampled, FWHM 0.7 to 1.2 px',
  'saturated bright stars', 'JPEG, quality 60',
];

describe('hard skies', () => {
  const answers: HardAnswer[] = [];
  // The first night of each kind has a guide scope, the third a lens: the kinds take one or the other by turns.
  test.each(KINDS.map((kind, k) => [kind, k % 2 === 0 ? 0 : 2] as const))('%s: right, or refused in a sentence', async (kind, n) => {
    expect(HARD_KINDS).toContain(kind);
    const answer = await solveHard(hardNight(kind, n));
    answers.push(answer);
    expect(isWrong(answer)).toBe(false);
    if (!answer.solved) expect(answer.refusal).toMatch(/^[a-z-]+: [A-Z].*\. .*\.$/s);
  });

  // Nothing here hides the whole sky: a program that refused everything must fail.
  test('all but one of them are solved', () => {
    expect(answers.filter((a) => a.solved).length).toBeGreaterThanOrEqual(KINDS.length - 1);
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
