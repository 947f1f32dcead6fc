import { describe, expect, test } from 'vitest';
import { measureAxis } from '../../src/axis/measureAxis.js';
import { ARCMINUTE, ARCSECOND } from '../../src/geometry/angle.js';
import { fromRotationVector } from '../../src/geometry/rotation.js';
import { generator, seeNight } from './sightings.js';

const NIGHT = { altitudeErrorArcmin: 8, azimuthErrorArcmin: -5, stars: 220, sigmaPixels: 0.15 };
/** A slip of so many arcseconds, in a direction across the picture. */
const slipOf = (arcsec: number, direction: number): ReturnType<typeof fromRotationVector> =>
  fromRotationVector([arcsec * ARCSECOND * Math.cos(direction), arcsec * ARCSECOND * Math.sin(direction), 0]);

describe('frames that one rotation made', () => {
  test('raise the alarm in less than one night of a hundred', () => {
    let alarms = 0;
    const nights = 150;
    for (let seed = 1; seed <= nights; seed++) {
      const { frames } = seeNight({ ...NIGHT, turnsDeg: seed % 2 ? [0, 30, 60] : [0, 25, 50, 75], seed });
      if (measureAxis(frames, 'refracted').disagreement) alarms++;
    }
    expect(alarms).toBeLessThan(0.01 * nights + 1);
  });
});

describe('a slip', () => {
  test('of ten sigmas is always found, and its size given', () => {
    const { uniform } = generator(5);
    for (let seed = 1; seed <= 25; seed++) {
      const direction = 2 * Math.PI * uniform();
      const big = seeNight({ ...NIGHT, turnsDeg: [0, 25, 50, 75], seed, slips: [null, null, null, slipOf(300, direction)] });
      const sigma = measureAxis(big.frames, 'refracted').disagreement!.sigma / ARCSECOND;
      const { frames } = seeNight({ ...NIGHT, turnsDeg: [0, 25, 50, 75], seed, slips: [null, null, null, slipOf(10 * sigma, direction)] });
      const found = measureAxis(frames, 'refracted').disagreement;
      expect(found, `seed ${seed}, sigma ${sigma}`).not.toBeNull();
      // The camera looks within a quarter of a degree of the axis, so nearly all of a slip shows.
      expect(Math.abs(found!.slip / ARCSECOND - 10 * sigma)).toBeLessThan(4.5 * sigma);
    }
  });

  test('is attributed to the right frame, first, middle or last, and the answer is that of the others', () => {
    for (const bad of [0, 1, 2, 3]) {
      const slips = [0, 1, 2, 3].map((i) => (i === bad ? slipOf(300, 1) : null));
      const { frames } = seeNight({ ...NIGHT, turnsDeg: [0, 25, 50, 75], seed: 11 + bad, slips });
      const m = measureAxis(frames, 'true');
      expect(m.disagreement?.frame).toBe(bad);
      expect(m.disagreement!.slip / ARCMINUTE).toBeCloseTo(5, 1);
      expect(Math.abs(m.fromTruePole.altitude / ARCMINUTE - 8) * 60).toBeLessThan(2);
      expect(Math.abs(m.fromTruePole.azimuth / ARCMINUTE + 5) * 60).toBeLessThan(3);
    }
  });

  test('in one of three frames is found; which frame it was can\'t be known and is not claimed', () => {
    const { frames } = seeNight({ ...NIGHT, turnsDeg: [0, 30, 60], seed: 3, slips: [null, null, slipOf(300, 2)] });
    const m = measureAxis(frames, 'refracted');
    expect(m.disagreement).not.toBeNull();
    expect(m.disagreement!.frame).toBeNull();
    // The error given grows with the disagreement.
    const sound = measureAxis(seeNight({ ...NIGHT, turnsDeg: [0, 30, 60], seed: 3 }).frames, 'refracted');
    expect(m.sigma.separation).toBeGreaterThan(20 * sound.sigma.separation);
  });
});
