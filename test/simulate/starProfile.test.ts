import { describe, expect, it } from 'vitest';
import { makeProfile, paintStar } from '../../src/simulate/starProfile.js';

const SIZE = 201;

function paint(profile: ReturnType<typeof makeProfile>, x: number, y: number): Float32Array {
  const data = new Float32Array(SIZE * SIZE);
  paintStar(data, SIZE, SIZE, profile, x, y, 1e6, 1e-3);
  return data;
}

function sums(data: Float32Array): { light: number; x: number; y: number } {
  let light = 0;
  let x = 0;
  let y = 0;
  data.forEach((value, i) => {
    light += value;
    x += value * (i % SIZE);
    y += value * Math.floor(i / SIZE);
  });
  return { light, x: x / light, y: y / light };
}

describe('paintStar', () => {
  // The integral of a Moffat profile beyond radius R is (1 + R²/α²)^(1-β) of the light (integrate 2πr(1+r²/α²)^-β).
  it.each([[1.6, 4], [2.4, 3], [4, 2.5], [2, 50]])('puts all the light of a star of FWHM %d and exponent %d on the picture', (
    fwhm, beta,
  ) => {
    const alpha = fwhm / 2 / Math.sqrt(2 ** (1 / beta) - 1);
    const missing = (1 + (90 / alpha) ** 2) ** (1 - beta);
    for (const [x, y] of [[100, 100], [100.5, 99.5], [100.31, 100.13]] as const) {
      const { light } = sums(paint(makeProfile(fwhm, beta), x, y));
      expect(Math.abs(light / 1e6 - 1)).toBeLessThan(missing + 2e-3);
    }
  });

  it('puts the centroid where it was asked, within 0.002 px, also of a long star', () => {
    for (const profile of [makeProfile(1.6, 3.5), makeProfile(2.4, 4), makeProfile(3, 4, 1.5, 0.6)]) {
      for (const [x, y] of [[100, 100], [100.5, 99.5], [100.31, 99.87], [99.74, 100.02]] as const) {
        const centre = sums(paint(profile, x, y));
        expect(centre.x).toBeCloseTo(x, 2.4);
        expect(centre.y).toBeCloseTo(y, 2.4);
      }
    }
  });

  it('falls to half its height at half the FWHM', () => {
    // A star so wide that a pixel's mean is its middle.
    const data = paint(makeProfile(40, 3), 100, 100);
    const row = 100 * SIZE + 100;
    expect(data[row + 20]! / data[row]!).toBeCloseTo(0.5, 2);
    expect(data[row + 20 * SIZE]! / data[row]!).toBeCloseTo(0.5, 2);
  });

  it('is longer along its long axis by the elongation', () => {
    const data = paint(makeProfile(40, 50, 1.44, Math.PI / 2), 100, 100);
    const row = 100 * SIZE + 100;
    expect(data[row + 24 * SIZE]! / data[row]!).toBeCloseTo(0.5, 2);
    expect(data[row + Math.round(20 / 1.2)]! / data[row]!).toBeCloseTo(0.5, 1);
  });

  it('paints what reaches over the edge of the picture and nothing else', () => {
    const data = paint(makeProfile(2.4, 3), -0.5, 50);
    expect(sums(data).light).toBeCloseTo(5e5, -4);
    expect(data[50 * SIZE]!).toBeGreaterThan(0);
    expect(data[51 * SIZE - 1]!).toBe(0);
  });
});
