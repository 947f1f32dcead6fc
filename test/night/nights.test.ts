/**
 * A sample of the drawn nights; `npx tsx test/night/study.ts` judges ten thousand, and src/night/README.md says how rare the
 * remaining errors are.
 */
import { expect, test } from 'vitest';
import { judgeNights, tableOf } from './judgeNights.js';

test('drawn nights of knobs, slews, bumps and slips: no wrong answer without a doubt, nearly all looks answered, few doubts', () => {
  const judged = judgeNights(20_001, 250);
  const table = tableOf(judged, 250, 20_001);
  // There were enough looks for the limits to mean something.
  expect(judged.answerable, table).toBeGreaterThan(2000);
  expect(judged.cleanAnswers, table).toBeGreaterThan(1000);
  expect(judged.bumps, table).toBeGreaterThan(20);
  // Wrong: off by more than six sigmas and 3″ without a doubt. None where neither camera nor declination had moved unasked.
  expect([judged.kinds['no bump'], judged.kinds['tripod sank']], table).toEqual([0, 0]);
  // A bump that looks like the knob's turn that was advised can't be told in one look.
  expect(judged.wrong.length / judged.answered, table).toBeLessThanOrEqual(0.006);
  // Bumps and sinkings too small to be noticed (3″ at most) stay in the answers that follow them: rare, but not as rare as chance.
  expect(judged.beyondFour / judged.sure, table).toBeLessThanOrEqual(0.01);
  expect(judged.answeredOfAnswerable / judged.answerable, table).toBeGreaterThanOrEqual(0.95);
  // One in ten; a sample of so many answers errs by one in a hundred.
  expect(judged.cleanDoubts / judged.cleanAnswers, table).toBeLessThanOrEqual(0.11);
  expect(judged.notRightAfterTwo, table).toBe(0);
});
