import { expect, test } from 'vitest';
import { solveHard } from '../accuracy/solveHard.js';
import { ROUGH_KINDS, roughNight } from './roughKinds.js';

// The study (roughStudy.ts) draws 200 of each.
test.each(ROUGH_KINDS)('%s: recognised', async (kind) => {
  const answer = await solveHard(roughNight(kind, 0));
  expect(answer.refusal).toBe('');
  // A star taken for another would move it by far more.
  expect(answer.missArcsec).toBeLessThan(5);
});
