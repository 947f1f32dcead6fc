import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Lens, toPixel } from '../../src/identify/lens.js';
import { MAX_RADIAL_TERMS, PROJECTION, project } from '../../src/identify/projection.js';

const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const lens: fc.Arbitrary<Lens> = fc.record({
  focalPixels: number(300, 5000), centreX: number(0, 1000), centreY: number(0, 1000), mirrored: fc.boolean(),
  radial: fc.array(number(-0.2, 0.2), { maxLength: MAX_RADIAL_TERMS }),
  tangential: fc.tuple(number(-0.003, 0.003), number(-0.003, 0.003)),
});
const direction = fc.tuple(number(-0.5, 0.5), number(-0.5, 0.5), number(0.7, 1.3));

function place(l: Lens, [x, y, z]: readonly [number, number, number]): [number, number] {
  const out = new Float64Array(PROJECTION.length);
  expect(project(l, x, y, z, out)).toBe(true);
  return [out[PROJECTION.x]!, out[PROJECTION.y]!];
}

describe('projection', () => {
  it('puts a direction where the lens does', () => {
    fc.assert(fc.property(lens, direction, (l, d) => {
      const p = toPixel(l, d)!;
      const [x, y] = place(l, d);
      expect(x).toBeCloseTo(p.x, 9);
      expect(y).toBeCloseTo(p.y, 9);
    }));
  });

  it('has the derivatives that finite differences show', () => {
    fc.assert(fc.property(lens, direction, (l, d) => {
      const out = new Float64Array(PROJECTION.length);
      project(l, d[0], d[1], d[2], out);
      const step = 1e-6;
      const check = (at: number, change: (h: number) => [number, number]): void => {
        const [xPlus, yPlus] = change(step);
        const [xMinus, yMinus] = change(-step);
        // Central differences: errors of rounding (1e-16·1e4/1e-6) and of third order (1e-12·f).
        expect(Math.abs(out[at]! - (xPlus - xMinus) / (2 * step))).toBeLessThan(1e-4 * (1 + 1e-3 * l.focalPixels));
        expect(Math.abs(out[at + 1]! - (yPlus - yMinus) / (2 * step))).toBeLessThan(1e-4 * (1 + 1e-3 * l.focalPixels));
      };
      for (let axis = 0; axis < 3; axis++) {
        const moved = (h: number): [number, number] =>
          place(l, d.map((c, k) => (k === axis ? c + h : c)) as unknown as [number, number, number]);
        const [xPlus, yPlus] = moved(step);
        const [xMinus, yMinus] = moved(-step);
        expect(Math.abs(out[PROJECTION.xByDirection + axis]! - (xPlus - xMinus) / (2 * step))).toBeLessThan(1e-7 * l.focalPixels + 1e-5);
        expect(Math.abs(out[PROJECTION.yByDirection + axis]! - (yPlus - yMinus) / (2 * step))).toBeLessThan(1e-7 * l.focalPixels + 1e-5);
      }
      check(PROJECTION.xByFocal, (h) => place({ ...l, focalPixels: l.focalPixels + h }, d));
      for (let k = 0; k < l.radial.length; k++) {
        check(PROJECTION.byRadial + 2 * k, (h) => place({ ...l, radial: l.radial.map((r, m) => (m === k ? r + h : r)) }, d));
      }
      const [a, b] = l.tangential!;
      check(PROJECTION.byTangential, (h) => place({ ...l, tangential: [a + h, b] }, d));
      check(PROJECTION.byTangential + 2, (h) => place({ ...l, tangential: [a, b + h] }, d));
    }));
  });

  it('leaves its output alone for a direction behind the camera', () => {
    const out = new Float64Array(PROJECTION.length).fill(7);
    expect(project({ focalPixels: 1, centreX: 0, centreY: 0, radial: [], mirrored: false }, 0, 0, -1, out)).toBe(false);
    expect(out.every((x) => x === 7)).toBe(true);
  });
});
