import { type RegionShape, shapeOf } from './fieldShape.js';

/** The effect of a straight trail on a star's shape. */
export interface TrailShape {
  /** Elongation that a round star of the same short axis would have with this trail. */
  readonly elongation: number;
  /** Share of the measured elongation that the trail explains: 1 = all, 0 = none, negative = it is at right angles. */
  readonly share: number;
}

/**
 * How a trail along (x, y), pixels in one exposure, explains a measured shape. A trail of length L adds L²/12 to the variance along it;
 * shares are of the difference of variances, with its direction.
 */
export function trailShape(shape: RegionShape, x: number, y: number): TrailShape {
  const measured = [shape.xx - shape.yy, 2 * shape.xy] as const;
  const trail = [(x * x - y * y) / 12, (2 * x * y) / 12] as const;
  const size2 = measured[0] ** 2 + measured[1] ** 2;
  const round = (shape.xx + shape.yy - Math.sqrt(size2)) / 2;
  return {
    elongation: shapeOf(round + (x * x) / 12, (x * y) / 12, round + (y * y) / 12).elongation,
    share: size2 > 0 ? (measured[0] * trail[0] + measured[1] * trail[1]) / size2 : 0,
  };
}
