import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitPlane } from '../../src/run/planeFit.js';

/** Made by testdata/run/makeFields.py: numpy's lstsq, the rotation by its singular value decomposition. Invented lists. */
interface Case {
  readonly kind: 'affine' | 'similarity';
  readonly fromX: number[]; readonly fromY: number[]; readonly toX: number[]; readonly toY: number[]; readonly sigma: number[];
  readonly shift: [number, number]; readonly rotation: number; readonly scale: number;
}
const CASES = JSON.parse(readFileSync(new URL('../../testdata/run/maps.json', import.meta.url), 'utf8')) as Case[];

describe('fitPlane against numpy', () => {
  it.each(CASES.map((c) => [`${c.kind} of ${c.fromX.length} stars`, c] as const))('%s: shift, rotation and scale agree', (_, c) => {
    const fit = fitPlane(c, { x: 1000, y: 700 })!;
    // numpy weights every star in full; the robust weights move the result by less than half its own error.
    const [sx, sy, sr] = [0, 4, 8].map((k) => Math.sqrt(fit.covariance[k]!)) as [number, number, number];
    expect(Math.abs(fit.shiftX - c.shift[0])).toBeLessThan(0.5 * sx);
    expect(Math.abs(fit.shiftY - c.shift[1])).toBeLessThan(0.5 * sy);
    expect(Math.abs(fit.rotation - c.rotation)).toBeLessThan(0.5 * sr);
    expect(fit.scale).toBeCloseTo(c.scale, 3);
  });

  it('a few errors of a hundred pixels change nothing', () => {
    const c = CASES[0]!;
    const toX = c.toX.map((x, k) => (k % 9 === 0 ? x + 100 : x));
    const fit = fitPlane({ ...c, toX }, { x: 1000, y: 700 })!;
    expect(fit.shiftX).toBeCloseTo(c.shift[0], 0);
    expect(Math.abs(fit.rotation - c.rotation)).toBeLessThan(4 * Math.sqrt(fit.covariance[8]!));
    expect(fit.trust.filter((t) => t === 0)).toHaveLength(Math.ceil(c.toX.length / 9));
  });

  it('shear does not look like rotation', () => {
    const c = CASES[0]!;
    const exact = {
      ...c, toX: c.fromX.map((x, k) => x + 1e-3 * (x - 1000) + 4e-4 * (c.fromY[k]! - 700)),
      toY: c.fromY.map((y, k) => y + 4e-4 * (c.fromX[k]! - 1000)),
    };
    expect(Math.abs(fitPlane(exact, { x: 1000, y: 700 })!.rotation)).toBeLessThan(1e-9);
  });
});
