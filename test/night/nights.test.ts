/** A sample of the drawn nights; `npx tsx test/night/study.ts` judges ten thousand. */
import { expect, test } from 'vitest';
import { judgeNights, tableOf } from './judgeNights.js';

test('drawn nights of knobs, slews, bumps and slips: no wrong answer without a doubt, nearly all looks answered, few doubts', () => {
  const judged = judgeNights(20_001, 120);
  const table = tableOf(judged, 120, 20_001);
  // Enough was asked for the limits to mean something.
  expect(judged.answerable, table).toBeGreaterThan(800);
  expect(judged.bumps, table).toBeGreaterThan(5);
  expect(judged.cleanAnswers, table).toBeGreaterThan(200);
  // Where neither camera, declination nor tripod moved unasked.
  expect(judged.wrong.filter(({ clean }) => clean), table).toEqual([]);
  expect(judged.cleanDoubts / judged.cleanAnswers, table).toBeLessThanOrEqual(0.1);
  // In all nights.
  expect(judged.answeredOfAnswerable / judged.answerable, table).toBeGreaterThanOrEqual(0.95);
  expect(judged.wrong.length / judged.answered, table).toBeLessThanOrEqual(0.005);
  expect(judged.beyondFour / judged.sure, table).toBeLessThanOrEqual(0.005);
  expect(judged.notRightAfterTwo, table).toBe(0);
});
