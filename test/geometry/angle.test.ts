import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ARCMINUTE, ARCSECOND, DEGREE, acos, asin, wrapPositive, wrapSigned } from '../../src/geometry/angle.js';

const angle = fc.double({ min: -1e4, max: 1e4, noNaN: true });

describe('angles', () => {
  it('has 60 arcminutes and 3600 arcseconds in a degree, 360 degrees in a turn', () => {
    expect(60 * ARCMINUTE).toBeCloseTo(DEGREE, 15);
    expect(3600 * ARCSECOND).toBeCloseTo(DEGREE, 15);
    expect(360 * DEGREE).toBeCloseTo(2 * Math.PI, 14);
  });

  it('clamps what rounding carried past one', () => {
    expect(acos(1 + 1e-15)).toBe(0);
    expect(acos(-1 - 1e-15)).toBe(Math.PI);
    expect(asin(1 + 1e-15)).toBe(Math.PI / 2);
    expect(asin(-1 - 1e-15)).toBe(-Math.PI / 2);
    expect(acos(0.5)).toBeCloseTo(Math.PI / 3, 15);
    expect(asin(0.5)).toBeCloseTo(Math.PI / 6, 15);
  });

  it('wraps into half-open turns and changes no sine', () => {
    fc.assert(fc.property(angle, (a) => {
      const signed = wrapSigned(a), positive = wrapPositive(a);
      expect(signed > -Math.PI && signed <= Math.PI).toBe(true);
      expect(positive >= 0 && positive < 2 * Math.PI).toBe(true);
      for (const b of [signed, positive]) {
        expect(Math.sin(b)).toBeCloseTo(Math.sin(a), 9);
        expect(Math.cos(b)).toBeCloseTo(Math.cos(a), 9);
      }
    }));
  });

  it('keeps half a turn positive', () => {
    expect(wrapSigned(Math.PI)).toBe(Math.PI);
    expect(wrapSigned(-Math.PI)).toBe(Math.PI);
    expect(wrapPositive(2 * Math.PI)).toBe(0);
    expect(wrapPositive(-1e-20)).toBe(0);
    expect(wrapPositive(-5e-324)).toBe(0);
  });
});
