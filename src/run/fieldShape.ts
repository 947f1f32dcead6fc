/** Second moments of a star at a place, pixels and pixels². */
export interface MomentsAt {
  readonly x: number;
  readonly y: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
}

/** The stars' common shape in a part of the picture. */
export interface RegionShape {
  /** Geometric mean of long and short axis, pixels. */
  readonly fwhm: number;
  readonly fwhmSigma: number;
  /** Long axis over short axis. */
  readonly elongation: number;
  /** One sigma of the elongation, from the scatter between the stars. */
  readonly elongationSigma: number;
  /** Of the long axis, from x toward y, radians, 0 to π. */
  readonly direction: number;
  /** Second moments, pixels². */
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
  readonly stars: number;
}

export type Region = 'centre' | 'topLeft' | 'topRight' | 'bottomLeft' | 'bottomRight';

/** Star shape over a picture; `top` is the first stored row. Null where there are fewer than three stars. */
export interface FieldShape {
  readonly whole: RegionShape | null;
  readonly regions: Readonly<Record<Region, RegionShape | null>>;
}

const FEWEST = 3;
const FWHM_PER_SIGMA = 2 * Math.sqrt(2 * Math.LN2);

/** The stars' shape over the whole picture, in its middle and in its four corners (thirds of width and height). */
export function fieldShape(stars: readonly MomentsAt[], width: number, height: number): FieldShape {
  const third = (at: number, size: number): number => Math.min(2, Math.max(0, Math.floor((3 * at) / size)));
  const inCell = (column: number, row: number): RegionShape | null =>
    regionShape(stars.filter((s) => third(s.x, width) === column && third(s.y, height) === row));
  return {
    whole: regionShape(stars),
    regions: { centre: inCell(1, 1), topLeft: inCell(0, 0), topRight: inCell(2, 0), bottomLeft: inCell(0, 2), bottomRight: inCell(2, 2) },
  };
}

/** Median moments of some stars; null with fewer than three. */
export function regionShape(stars: readonly MomentsAt[]): RegionShape | null {
  if (stars.length < FEWEST) return null;
  const [xx, sxx] = medianOf(stars.map((s) => s.xx));
  const [xy, sxy] = medianOf(stars.map((s) => s.xy));
  const [yy, syy] = medianOf(stars.map((s) => s.yy));
  const shape = shapeOf(xx, xy, yy);
  const size2 = Math.sqrt(Math.max(1e-9, xx * yy - xy * xy));
  return {
    ...shape, xx, xy, yy, stars: stars.length,
    fwhmSigma: (shape.fwhm / 4) * Math.hypot(sxx / Math.max(1e-9, xx), syy / Math.max(1e-9, yy)),
    // long/short ≈ 1 + half the difference of variances over their mean.
    elongationSigma: (shape.elongation * Math.hypot((sxx + syy) / 2 / Math.SQRT2, sxy)) / size2,
  };
}

/** FWHM, elongation and direction of a Gaussian of these moments. */
export function shapeOf(xx: number, xy: number, yy: number): { fwhm: number; elongation: number; direction: number } {
  const mean = (xx + yy) / 2;
  const half = Math.hypot((xx - yy) / 2, xy);
  const short = Math.max(1e-9, mean - half);
  const direction = Math.atan2(2 * xy, xx - yy) / 2;
  return {
    fwhm: FWHM_PER_SIGMA * Math.sqrt(Math.sqrt((mean + half) * short)),
    elongation: Math.sqrt((mean + half) / short),
    direction: direction < 0 ? direction + Math.PI : direction,
  };
}

/** Median and its one-sigma error from the scatter (1.2533 σ/√n for normal errors). */
function medianOf(values: readonly number[]): [number, number] {
  const sorted = [...values].sort((a, b) => a - b);
  const n = sorted.length;
  const at = (q: number): number => sorted[Math.min(n - 1, Math.max(0, Math.round(q * (n - 1))))]!;
  const middle = (sorted[(n - 1) >> 1]! + sorted[n >> 1]!) / 2;
  const spread = n < 5 ? (sorted[n - 1]! - sorted[0]!) / 1.7 : (at(0.84) - at(0.16)) / 2;
  return [middle, (1.2533 * spread) / Math.sqrt(n)];
}
