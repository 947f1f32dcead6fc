import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ARCMINUTE } from '../../../src/geometry/angle.js';
import { type Combination, bestKnownWords } from '../../../src/tasks/verify/bestKnown.js';

const COSINE = Math.cos(46.5 * Math.PI / 180);
/** What frames would know of an axis that is off by these arcminutes, if they know the direction that is turned so far from up. */
function known(altitude: number, azimuth: number, angle: number, sigma = 0.2): Combination {
  const up = Math.cos(angle), east = Math.sin(angle);
  return { up, east, value: (up * altitude + east * azimuth * COSINE) * ARCMINUTE, sigma: sigma * ARCMINUTE };
}
const angles = fc.double({ min: -1.5, max: 1.5, noNaN: true });
const errors = fc.double({ min: -30, max: 30, noNaN: true });

describe('what is known best, said as an instruction', () => {
  it('is right for altitude alone, azimuth alone and both', () => {
    expect(bestKnownWords(known(-1.9, 0, 0), COSINE)).toBe('Raise the axis by 1.9′ ± 0.2′; these frames show nothing of the azimuth.');
    expect(bestKnownWords(known(5, 3, Math.PI / 2, 0.1), COSINE))
      .toBe('Move the axis west by 3.0′ ± 0.1′; these frames show nothing of the altitude.');
    expect(bestKnownWords(known(2, 0, 0.4), COSINE)).toBe('Lower the axis by 2.0′ ± 0.2′ if the azimuth is right, 0.29′ less for each '
      + 'arcminute that it is too far east. These frames can\'t separate the two.');
  });

  it('removes the error if followed, whatever the other error is', () => {
    fc.assert(fc.property(errors, errors, angles, (altitude, azimuth, angle) => {
      const words = bestKnownWords(known(altitude, azimuth, angle, 0.01), COSINE);
      const form = /^(Raise|Lower|Move) the axis (?:(east|west) )?by ([\d.]+)′ .* if the (\w+) is right, ([\d.]+)′ (more|less)/;
      const order = form.exec(words);
      if (!order) return;
      const [, verb, way, size, other, share, more] = order;
      const amount = Number(size) + (more === 'more' ? 1 : -1) * Number(share) * (other === 'azimuth' ? azimuth : altitude);
      const moved = (verb === 'Raise' || way === 'east' ? 1 : -1) * amount;
      // The words round the share to a hundredth.
      expect(Math.abs((other === 'azimuth' ? altitude : azimuth) + moved)).toBeLessThan(0.06 + 0.006 * 30);
    }));
  });

  it('names no direction where the sign is not known', () => {
    fc.assert(fc.property(angles, fc.double({ min: -0.35, max: 0.35, noNaN: true }), (angle, off) => {
      const words = bestKnownWords({ up: Math.cos(angle), east: Math.sin(angle), value: off * ARCMINUTE, sigma: 0.2 * ARCMINUTE }, COSINE);
      expect(words).not.toMatch(/Raise|Lower|Move|east|west/);
      expect(words).toMatch(/off by at most [\d.]+′/);
    }));
  });
});
