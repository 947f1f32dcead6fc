import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseDegrees } from '../../src/frames/sexagesimal.js';

describe('angles as people write them', () => {
  it.each([
    ['39 12 00 N', 39.2],
    ['S33:30', -33.5],
    ['3°24\'00" W', -3.4],
    ['003°24′00″E', 3.4],
    ['39d12m00s', 39.2],
    ['39d12m00s S', -39.2],
    ['-0:00:36', -0.01],
    ['+.5', 0.5],
    ['7 W', -7],
  ])('%s is %d°', (text, degrees) => {
    expect(parseDegrees(text)).toBeCloseTo(degrees, 12);
  });
  it.each(['', 'N', '39 12 00 00', '39:60', '39:12:60', '1e3', 'NaN', '39,2', '--3', '-39 S', '39d12m00S', '3-4'])('"%s" is none',
    (text) => {
    expect(parseDegrees(text)).toBeNaN();
  });
  it('come back from degrees, minutes and seconds of either sign', () => {
    fc.assert(
      fc.property(fc.nat(179), fc.nat(59), fc.nat(59), fc.boolean(), (d, m, s, minus) => {
        const angle = (d + m / 60 + s / 3600) * (minus ? -1 : 1);
        expect(parseDegrees(`${minus ? '-' : ''}${d}:${m}:${s}`)).toBeCloseTo(angle, 12);
        expect(parseDegrees(`${d} ${m} ${s} ${minus ? 'W' : 'E'}`)).toBeCloseTo(angle, 12);
      }),
    );
  });
});
