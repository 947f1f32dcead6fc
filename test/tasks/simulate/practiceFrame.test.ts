import fc from 'fast-check';
import { expect, test } from 'vitest';
import { makeSite } from '../../../src/sky/site.js';
import { sunAltitude } from '../../../src/sky/sun.js';
import { nextMidnight } from '../../../src/tasks/simulate/practiceFrame.js';

const DAY = 86_400_000;

test('the next midnight is within a day, and the Sun stands lower than hours before or after', () => {
  fc.assert(fc.property(
    fc.double({ min: -360, max: 360, noNaN: true }), fc.double({ min: -60, max: 60, noNaN: true }),
    fc.date({ min: new Date('2026-01-01'), max: new Date('2030-01-01'), noInvalidDate: true }),
    (longitudeDeg, latitudeDeg, now) => {
      const midnight = nextMidnight(longitudeDeg, now).getTime();
      expect(midnight - now.getTime()).toBeGreaterThanOrEqual(-1);
      expect(midnight - now.getTime()).toBeLessThanOrEqual(DAY + 1);
      const site = makeSite({ latitudeDeg, longitudeDeg });
      const altitude = (hours: number): number => sunAltitude(new Date(midnight + hours * 3_600_000), site);
      expect(Math.min(altitude(-2), altitude(2))).toBeGreaterThan(altitude(0));
    },
  ), { numRuns: 50 });
});
