import { describe, expect, it } from 'vitest';
import { measureAxis } from '../../src/axis/measureAxis.js';
import { dot, subtract } from '../../src/geometry/vector.js';
import { seeNight } from './sightings.js';

/** Mean of the squared error of the axis in units of its covariance, by dimension: one where the covariance is right. */
function meanSquare(catalogueArcsec: number, nights = 400, turnsDeg = [0, 30, 60]): number {
  let sum = 0;
  for (let seed = 0; seed < nights; seed++) {
    const night = seeNight({ altitudeErrorArcmin: 11, azimuthErrorArcmin: -17, turnsDeg, catalogueArcsec, seed });
    const { fit } = measureAxis(night.frames, 'true');
    const off = subtract(fit.axes[0]!, night.axis);
    const [a, b] = [dot(off, fit.bases.axes[0]![0]), dot(off, fit.bases.axes[0]![1])];
    const [aa, ab, , bb] = fit.axisCovariances[0]!;
    sum += (bb * a * a - 2 * ab * a * b + aa * b * b) / (aa * bb - ab * ab) / 2;
  }
  return sum / nights;
}

describe('the covariance of the joint fit', () => {
  // The mean of four hundred nights is known to 5 %; robust weights taken for information would give 0.87.
  it('is that of the axis\' errors where those come from the pixels', () => {
    expect(Math.abs(meanSquare(0.001) - 1)).toBeLessThan(0.1);
  });

  it('and where the catalogue errs as much', () => {
    expect(Math.abs(meanSquare(0.5) - 1)).toBeLessThan(0.1);
  });

  // Lens and star errors are fitted to some of so many frames, the axis to all. The mean of twenty nights is known to 22 %.
  it('and for many frames', () => {
    expect(Math.abs(meanSquare(0.1, 20, Array.from({ length: 40 }, (_, i) => (i * 35) % 140)) - 1)).toBeLessThan(0.6);
  });
});
