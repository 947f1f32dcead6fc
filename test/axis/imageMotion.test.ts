import { describe, expect, it } from 'vitest';
import { imageMotion } from '../../src/axis/imageMotion.js';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';

describe('the motion of a star by itself that is expected of the air', () => {
  it('is that of Lindegren 1980 (A&A 89, 41; 1.3″ θ^0.25 / √T between two stars, from memory)', () => {
    // 1° apart, 4 s: 1.3″ · 0.3635 / 2 = 0.236″ between the two, 0.167″ of each.
    expect(Math.sqrt(imageMotion(DEGREE, 4, 1 / ARCSECOND))).toBeCloseTo(0.167, 3);
  });

  it('falls with the root of the exposure, down to where the air stands still', () => {
    const at = (seconds: number): number => Math.sqrt(imageMotion(0.01, seconds, 1000));
    expect(at(1) / at(16)).toBeCloseTo(4, 9);
    expect(at(0.001)).toBe(at(0.1));
  });
});
