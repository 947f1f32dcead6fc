import type { Image } from '../frames/frame.js';
import type { Shape, WindowSums } from './windowed.js';

/** A picture in which stars are searched. */
export interface Picture extends Image {
  /** What takes long on its pixels, in WebAssembly; null or missing: in JavaScript. */
  readonly quick?: QuickPixels | null;
}

/** Sky level and noise of one pixel on a grid of cells. */
export interface Background {
  readonly columns: number;
  readonly rows: number;
  /** Size of a cell in pixels; cell (i, j) is centred on x = (i + ½)·cellWidth − ½, y = (j + ½)·cellHeight − ½. */
  readonly cellWidth: number;
  readonly cellHeight: number;
  /** Sky level, [j * columns + i], units of the picture. */
  readonly level: Float64Array;
  /** One-sigma noise of one pixel, likewise; > 0. */
  readonly noise: Float64Array;
}

/**
 * Functions over the pixels of one picture that run at full speed from the first call, and give the same as in JavaScript to the last bit.
 */
export interface QuickPixels {
  /**
   * A cell of the mesh: `noise` from the spread of its pixels, `difference` the median difference of pixels two apart (NaN for few pairs).
   * Null where fewer than `least` have values, or none.
   */
  cell(
    left: number, top: number, right: number, bottom: number, stepX: number, stepY: number, least: number,
  ): { level: number; noise: number; difference: number } | null;
  /** The most pixels that a cell may have. */
  readonly mostSamples: number;
  /** Makes `mesh` the one that the next functions use, if it is not too large for them. */
  useMesh(mesh: Background): void;
  /** The mesh in use. */
  readonly mesh: Background | null;
  levelAt(x: number, y: number): number;
  /** Smoothed blocks in units of the noise, a value every `step` px, `columns` a row; null where there are too many. */
  blockProbes(block: number, step: number, across: number, down: number, columns: number, count: number): QuickProbes | null;
  /** The picture under a window in units of the noise, likewise. */
  matchedProbes(step: number, columns: number, count: number, window: Shape): QuickProbes | null;
  windowSums(x: number, y: number, window: Shape, sky: number, ceiling: number, sums: WindowSums): void;
  climb(
    x: number, y: number, window: Shape, longest: number, sky: number, sums: WindowSums, ceiling: number, least: number,
    hopes: readonly number[],
  ): { x: number; y: number } | null;
  adaptiveMoments(x: number, y: number, start: number, sky: number, sums: WindowSums): PlacedShape | null;
  /** Level and noise of every `step`th pixel of a ring in a rectangle, `most` at most, and their number. */
  ring(
    x: number, y: number, inner: number, outer: number, left: number, right: number, top: number, bottom: number, step: number,
    most: number,
  ): { level: number; noise: number; pixels: number };
  /** Fills `values` with the pixels of a rectangle less the sky at each; false where they are too many. */
  cut(
    left: number, right: number, top: number, bottom: number, x: number, y: number, sky: number, slope: { x: number; y: number },
    ceiling: number, values: Float64Array,
  ): boolean;
}

/** Values sampled on a grid of places. */
export interface QuickProbes {
  readonly count: number;
  /** Quantiles `low` and `high` of a part's values, and of the same less the median of their neighbours; null for fewer than `least`. */
  tails(
    left: number, top: number, right: number, bottom: number, medianSigma: number, least: number, low: number, high: number,
  ): { plain: number; less: number } | null;
}

/** A shape and the final position of its middle, px. */
export interface PlacedShape extends Shape {
  readonly x: number;
  readonly y: number;
}
