import fc from 'fast-check';
import { expect, it } from 'vitest';
import { plainFitRound } from '../../../src/stars/fitRound.js';
import { type FitWorkspace, fitStar, newFit } from '../../../src/stars/fitStar.js';
import { quickFit } from '../../../src/stars/kernel/quickFit.js';
import { subtractNeighbour } from '../../../src/stars/neighbours.js';
import { moffat } from '../../../src/stars/profile.js';

const quick = quickFit()!;
const plain = plainFitRound();
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

it('runs on this machine, so that the other tests of this file compare two implementations', () => {
  expect(quick).not.toBeNull();
});

it('gives the same numbers as in JavaScript to the last bit, whatever the star, the stamp and the blanks in it', () => {
  fc.assert(fc.property(fc.record({
    columns: fc.integer({ min: 0, max: 60 }), rows: fc.integer({ min: 0, max: 45 }), left: fc.integer({ min: 0, max: 9000 }),
    top: fc.integer({ min: 0, max: 9000 }), x: number(-3, 63), y: number(-3, 48), peak: number(1, 1e5), sky: number(-50, 50),
    logWidth: number(-1.9, 1.9), reach: number(0.5, 40), long: number(0.06, 30), ratio: number(0.2, 1), xy: number(-0.9, 0.9),
    beta: number(1.3, 30), noise: number(0.1, 100), widthSpread: number(0.05, 1), perLight: number(0, 5), seed: fc.integer(),
  }), (g) => {
    const values = Float64Array.from({ length: g.columns * g.rows }, (_, k) => {
      const draw = Math.abs(Math.sin(g.seed + 12.9898 * k)) * 43758.5453 % 1;
      const [dx, dy] = [(k % g.columns) - g.x, Math.floor(k / g.columns) - g.y];
      const light = g.peak * Math.exp(-(dx * dx + dy * dy) / (2 * g.long));
      return draw < 0.03 ? NaN : light + 4 * g.noise * (draw - 0.5);
    });
    const stamp = { left: g.left, top: g.top, columns: g.columns, rows: g.rows, values };
    const [xx, yy] = [g.long, g.long * g.ratio];
    const model = { shape: { xx, yy, xy: g.xy * Math.sqrt(xx * yy) }, profile: moffat(g.beta) };
    const bounds = { reach: g.reach, widthSpread: g.widthSpread, skySpread: g.noise };
    const fitted = (work: FitWorkspace): unknown => {
      const fit = { ...newFit(g.left + g.x, g.top + g.y, g.peak), sky: g.sky, logWidth: g.logWidth };
      const { count, index, values: data, light } = fitStar(stamp, model, { sky: g.noise, perLight: g.perLight }, fit, bounds, work);
      const cleared = { ...stamp, values: values.slice() };
      subtractNeighbour(cleared, model, fit, work);
      return {
        cleared: cleared.values, fit, count,
        index: [...index.subarray(0, count)], data: [...data.subarray(0, count)], light: [...light.subarray(0, count)],
      };
    };
    expect(fitted(quick)).toEqual(fitted(plain));
  }), { numRuns: 300 });
});
