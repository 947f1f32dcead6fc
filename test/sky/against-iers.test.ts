/**
 * The expected pole against the IERS: finals2000A of 2026-09-28 (from the Python package astropy-iers-data), every 140th day. Before
 * 2020-09-17 no pole took part in the fit behind `expectedPole`.
 */
import { expect, test } from 'vitest';
import { ARCSECOND } from '../../src/geometry/angle.js';
import { expectedPole, meanPole, polarMotionSigma } from '../../src/sky/polarMotion.js';

/** Day, x and y of the pole in arcseconds. */
const OBSERVED: readonly (readonly [string, number, number])[] = [
  ['2015-03-19', 0.0034, 0.3784],
  ['2015-08-06', 0.2068, 0.4123],
  ['2015-12-24', 0.0690, 0.2522],
  ['2016-05-12', 0.0543, 0.4864],
  ['2016-09-29', 0.2339, 0.3345],
  ['2017-02-16', 0.0107, 0.2999],
  ['2017-07-06', 0.1720, 0.4466],
  ['2017-11-23', 0.1420, 0.2387],
  ['2018-04-12', 0.0388, 0.4138],
  ['2018-08-30', 0.2116, 0.3705],
  ['2019-01-17', 0.0644, 0.2854],
  ['2019-06-06', 0.1211, 0.4313],
  ['2019-10-24', 0.1701, 0.2899],
  ['2020-03-12', 0.0293, 0.3738],
  ['2020-07-30', 0.1992, 0.3971],
  ['2020-12-17', 0.0830, 0.2940],
  ['2021-05-06', 0.1153, 0.4403],
  ['2021-09-23', 0.2297, 0.2920],
  ['2022-02-10', 0.0229, 0.3395],
  ['2022-06-30', 0.2272, 0.4626],
  ['2022-11-17', 0.1798, 0.1922],
  ['2023-04-06', -0.0107, 0.4184],
  ['2023-08-24', 0.2926, 0.4273],
  ['2024-01-11', 0.1176, 0.2064],
  ['2024-05-30', 0.0321, 0.4476],
  ['2024-10-17', 0.2251, 0.3861],
  ['2025-03-06', 0.0670, 0.3327],
  ['2025-07-24', 0.1972, 0.4327],
  ['2025-12-11', 0.1217, 0.3167],
  ['2026-04-30', 0.1555, 0.4181],
];

const rms = (rows: typeof OBSERVED, pole: typeof expectedPole): number => {
  const squares = rows.map(([day, x, y]) => {
    const expected = pole(new Date(day));
    return ((expected.x / ARCSECOND - x) ** 2 + (expected.y / ARCSECOND - y) ** 2) / 2;
  });
  return Math.sqrt(squares.reduce((sum, s) => sum + s, 0) / squares.length);
};

test('the expected pole is as near as its sigma says, in years that took no part in the fit too', () => {
  const sigma = polarMotionSigma(new Date('2026-11-26')) / ARCSECOND;
  const [before, during] = [OBSERVED.filter(([day]) => day < '2020-09-17'), OBSERVED.filter(([day]) => day > '2020-09-17')];
  expect(rms(before, expectedPole)).toBeLessThan(sigma);
  expect(rms(during, expectedPole)).toBeLessThan(sigma / 2);
  expect(rms(OBSERVED, expectedPole)).toBeLessThan(rms(OBSERVED, meanPole) / 2);
});

test('far from the years of the fit it is the mean pole, and less sure', () => {
  const far = new Date('2040-01-01');
  expect(expectedPole(far)).toEqual(meanPole(far));
  expect(polarMotionSigma(far)).toBeGreaterThan(polarMotionSigma(new Date('2027-01-01')));
  expect(rms(OBSERVED, meanPole) * ARCSECOND).toBeLessThan(polarMotionSigma(far));
});
