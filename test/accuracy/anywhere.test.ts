/** A few nights of frames anywhere in the sky, with the place or the scale known; `anywhere.ts` studies hundreds. */
import { expect, test } from 'vitest';
import { anywhereNight, solveAnywhere } from './anywhereNights.js';

// The frames of night 59 are recognised only together.
test.each([0, 1, 7, 9, 59])('night %i is solved within four of its sigmas', (number) => {
  const night = anywhereNight(number);
  expect(night.fromPoleDeg).toBeGreaterThan(15);
  expect(night.lowestDeg).toBeGreaterThan(15);
  const { why, z, missArcmin } = solveAnywhere(night);
  expect(why).toBe('');
  for (const each of Object.values(z)) expect(Math.abs(each)).toBeLessThan(4);
  expect(missArcmin).toBeLessThan(1.5);
}, 60_000);
