/** Second moments of a light spot or window, px²: a symmetric 2x2 matrix. */
export interface Shape {
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
}

/** Sums over a Gaussian window g of the light I above the sky; each call overwrites them, `looked` grows. */
export interface WindowSums {
  /** Σ g·I */
  light: number;
  /** Weighted mean offset of the light from the window's centre, px. */
  dx: number;
  dy: number;
  /** Weighted second moments of the light about the window's centre, px². */
  xx: number;
  xy: number;
  yy: number;
  /** Σ g² over the usable pixels. */
  weight: number;
  /** Share of the window's Σ g that fell on usable pixels. */
  inside: number;
  /** Pixels looked at by all calls so far: limits a search. */
  looked: number;
}

export function emptySums(): WindowSums {
  return { light: 0, dx: 0, dy: 0, xx: 0, xy: 0, yy: 0, weight: 0, inside: 0, looked: 0 };
}
