import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { angleBetween, norm } from '../../src/geometry/vector.js';
import { type Lens, stretch, toDirection, toPixel } from '../../src/identify/lens.js';

const WIDTH = 1200, HEIGHT = 800;

/** Lenses of 0.5° to 70° across, distorted by up to ±10 % at the corner, so that radii still grow outward there. */
const lens: fc.Arbitrary<Lens> = fc.record({
  field: fc.double({ min: 0.5, max: 70, noNaN: true }),
  distortion: fc.double({ min: -0.1, max: 0.1, noNaN: true }),
  second: fc.double({ min: -0.01, max: 0.01, noNaN: true }),
  offX: fc.double({ min: -24, max: 24, noNaN: true }),
  offY: fc.double({ min: -24, max: 24, noNaN: true }),
  mirrored: fc.boolean(),
  askew: fc.tuple(fc.double({ min: -1e-3, max: 1e-3, noNaN: true }), fc.double({ min: -1e-3, max: 1e-3, noNaN: true })),
}).map(({ field, distortion, second, offX, offY, mirrored, askew }) => {
  const focalPixels = WIDTH / 2 / Math.tan((field / 2) * DEGREE);
  const corner2 = (WIDTH ** 2 + HEIGHT ** 2) / 4 / focalPixels ** 2;
  const radial = [distortion / corner2, second / corner2 ** 2];
  return { focalPixels, centreX: WIDTH / 2 + offX, centreY: HEIGHT / 2 + offY, radial, tangential: askew, mirrored };
});
const pixel = fc.tuple(fc.double({ min: 0, max: WIDTH, noNaN: true }), fc.double({ min: 0, max: HEIGHT, noNaN: true }));

describe('lens', () => {
  it('sees every pixel in a direction that it shows in that pixel', () => {
    fc.assert(fc.property(lens, pixel, (l, [x, y]) => {
      const direction = toDirection(l, x, y);
      expect(norm(direction)).toBeCloseTo(1, 14);
      const back = toPixel(l, direction)!;
      expect(Math.hypot(back.x - x, back.y - y)).toBeLessThan(1e-7);
    }), { numRuns: 500 });
  });

  it('shows its axis in the principal point, and nothing that lies behind', () => {
    const l: Lens = { focalPixels: 700, centreX: 401, centreY: 299, radial: [0.1], mirrored: false };
    expect(toPixel(l, [0, 0, 2])).toEqual({ x: 401, y: 299 });
    expect(toPixel(l, [0.1, 0.1, 0])).toBeNull();
    expect(toPixel(l, [0, 0, -1])).toBeNull();
  });

  it('is gnomonic without distortion: f times the tangent from the centre', () => {
    const l: Lens = { focalPixels: 700, centreX: 0, centreY: 0, radial: [], mirrored: false };
    const off = 20 * DEGREE;
    expect(toPixel(l, [Math.sin(off), 0, Math.cos(off)])!.x).toBeCloseTo(700 * Math.tan(off), 10);
    expect(angleBetween(toDirection(l, 700 * Math.tan(off), 0), [0, 0, 1])).toBeCloseTo(off, 12);
  });

  it('changes the sign of x, and of x only, in a mirror', () => {
    fc.assert(fc.property(lens, pixel, (l, [x, y]) => {
      const a = toDirection(l, x, y);
      const [p1, p2] = l.tangential!;
      const b = toDirection({ ...l, mirrored: !l.mirrored, tangential: [-p1, p2] }, x, y);
      expect(b[0]).toBeCloseTo(-a[0], 12);
      expect(b[1]).toBeCloseTo(a[1], 12);
      expect(b[2]).toBeCloseTo(a[2], 12);
    }));
  });

  it('gives the direction at the fold for pixels farther out than distortion lets any star appear', () => {
    // r = t - 0.3·t³ is largest, 0.703, at t = 1.054.
    const l: Lens = { focalPixels: 1000, centreX: 0, centreY: 0, radial: [-0.3], mirrored: false };
    const [x, y, z] = toDirection(l, 800, 0);
    expect(y).toBe(0);
    expect(x / z).toBeGreaterThan(1.03);
    expect(x / z).toBeLessThan(1.06);
    const near = toDirection(l, 690, 0);
    expect(toPixel(l, near)!.x).toBeCloseTo(690, 6);
  });

  it('stretches by 1 + k1·s + k2·s²', () => {
    expect(stretch([], 0.3)).toBe(1);
    expect(stretch([0.2, -0.5], 0.3)).toBeCloseTo(1 + 0.2 * 0.3 - 0.5 * 0.09, 14);
  });
});
