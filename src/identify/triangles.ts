import { type StarGrid } from './starGrid.js';

/**
 * Triangles of stars described by what rotation and scale do not change: the ratios of the sides and the parity. Sides are chords between
 * directions, so that the description is exact anywhere in a wide field.
 */

/** Bins along each side ratio. */
const BINS = 200;
/** The smallest short/long ratio used: thinner triangles fix their place poorly. */
const THINNEST = 0.12;
/** Two sides closer in length than this can't be distinguished reliably. */
const NEARLY_EQUAL = 0.985;

/** A triangle: its stars in the order of the sides that face them, longest first. */
export interface Triangle {
  a: number;
  b: number;
  c: number;
  /** Longest side (chord, radians for small ones). */
  side: number;
  /** Middle and short side over the longest. */
  middle: number;
  short: number;
  /** +1 if a, b, c run counter-clockwise seen along the direction of sight from the origin, -1 otherwise. */
  handedness: number;
}

export function emptyTriangle(): Triangle {
  return { a: 0, b: 0, c: 0, side: 0, middle: 0, short: 0, handedness: 1 };
}

/**
 * Describes the triangle of three directions (flat array, three numbers a star) into `out`.
 * Returns false if its longest side is outside the range or its shape is unsafe (too thin, two sides alike).
 */
export function describeTriangle(
  d: Float64Array, i: number, j: number, k: number, shortest: number, longest: number, out: Triangle,
): boolean {
  // Side opposite i is j-k, and so on.
  let a = i, b = j, c = k;
  let sa = chordSquared(d, j, k), sb = chordSquared(d, i, k), sc = chordSquared(d, i, j);
  let swap = 0;
  if (sb > sa) { swap = a; a = b; b = swap; swap = sa; sa = sb; sb = swap; }
  if (sc > sa) { swap = a; a = c; c = swap; swap = sa; sa = sc; sc = swap; }
  if (sc > sb) { swap = b; b = c; c = swap; swap = sb; sb = sc; sc = swap; }
  if (!(sa >= shortest * shortest && sa <= longest * longest)) return false;
  if (sc < THINNEST * THINNEST * sa || sb > NEARLY_EQUAL * NEARLY_EQUAL * sa || sc > NEARLY_EQUAL * NEARLY_EQUAL * sb) return false;
  out.a = a;
  out.b = b;
  out.c = c;
  out.side = Math.sqrt(sa);
  out.middle = Math.sqrt(sb / sa);
  out.short = Math.sqrt(sc / sa);
  out.handedness = triple(d, a, b, c) > 0 ? 1 : -1;
  return true;
}

function chordSquared(d: Float64Array, i: number, j: number): number {
  const x = d[3 * i]! - d[3 * j]!;
  const y = d[3 * i + 1]! - d[3 * j + 1]!;
  const z = d[3 * i + 2]! - d[3 * j + 2]!;
  return x * x + y * y + z * z;
}

function triple(d: Float64Array, a: number, b: number, c: number): number {
  const ax = d[3 * a]!, ay = d[3 * a + 1]!, az = d[3 * a + 2]!;
  const bx = d[3 * b]! - ax, by = d[3 * b + 1]! - ay, bz = d[3 * b + 2]! - az;
  const cx = d[3 * c]! - ax, cy = d[3 * c + 1]! - ay, cz = d[3 * c + 2]! - az;
  return ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
}

/** Many triangles, sorted by shape: those of bin n stand at start[n] … start[n + 1] - 1. */
export interface TriangleIndex {
  readonly count: number;
  /** 3 star numbers a triangle, in the order of {@link Triangle}. */
  readonly stars: Int32Array;
  /** Middle and short side over the longest, longest side times handedness: 3 numbers a triangle. */
  readonly shapes: Float32Array;
  readonly start: Int32Array;
}

function bin(middle: number, short: number): number {
  return Math.min(BINS - 1, Math.floor(middle * BINS)) * BINS + Math.min(BINS - 1, Math.floor(short * BINS));
}

/**
 * Indexes triangles of the stars given (flat directions, brightest first): each star with the pairs among its
 * `partners` nearest brighter stars whose distance lies within the range of sides (chords).
 *
 * @param grid of the same stars, its cells at least as wide as `longest`
 */
export function buildTriangleIndex(
  directions: Float64Array, count: number, grid: StarGrid, shortest: number, longest: number, partners: number,
): TriangleIndex {
  const capacity = count * ((partners * (partners - 1)) / 2);
  const stars = new Int32Array(3 * capacity);
  const shapes = new Float32Array(3 * capacity);
  const bins = new Int32Array(capacity);
  const start = new Int32Array(BINS * BINS + 1);
  const near = new Int32Array(partners);
  const distances = new Float64Array(partners);
  const triangle = emptyTriangle();
  let n = 0;
  for (let i = 2; i < count; i++) {
    const found = brighterPartners(directions, i, grid, 0.35 * shortest, longest, near, distances);
    for (let p = 1; p < found; p++) {
      for (let q = 0; q < p; q++) {
        if (!describeTriangle(directions, i, near[p]!, near[q]!, shortest, longest, triangle)) continue;
        const at = 3 * n;
        stars[at] = triangle.a;
        stars[at + 1] = triangle.b;
        stars[at + 2] = triangle.c;
        shapes[at] = triangle.middle;
        shapes[at + 1] = triangle.short;
        shapes[at + 2] = triangle.side * triangle.handedness;
        const b = bin(triangle.middle, triangle.short);
        bins[n] = b;
        start[b + 1]!++;
        n++;
      }
    }
  }
  for (let b = 0; b < BINS * BINS; b++) start[b + 1]! += start[b]!;
  // Sorted by bin, so that a search reads memory in one run.
  const fill = start.slice();
  const sortedStars = new Int32Array(3 * n);
  const sortedShapes = new Float32Array(3 * n);
  for (let t = 0; t < n; t++) {
    const to = 3 * fill[bins[t]!]!++;
    for (let corner = 0; corner < 3; corner++) {
      sortedStars[to + corner] = stars[3 * t + corner]!;
      sortedShapes[to + corner] = shapes[3 * t + corner]!;
    }
  }
  return { count: n, stars: sortedStars, shapes: sortedShapes, start };
}

/**
 * Fills `near` with the nearest stars brighter than star i (nearest first), `distances` with the squares of their chords, and returns their
 * number.
 */
function brighterPartners(
  directions: Float64Array, i: number, grid: StarGrid, closest: number, farthest: number, near: Int32Array, distances: Float64Array,
): number {
  const low2 = closest * closest;
  const high2 = farthest * farthest;
  let found = 0;
  for (let r = -1; r <= 1; r++) {
    const cell = grid.cellOf[i]! + r * grid.columns;
    for (let c = cell - 1; c <= cell + 1; c++) {
      const end = grid.start[c + 1]!;
      for (let m = grid.start[c]!; m < end; m++) {
        const j = grid.members[m]!;
        if (j >= i) break;
        const d2 = chordSquared(directions, i, j);
        if (d2 < low2 || d2 > high2) continue;
        if (found === near.length && d2 >= distances[found - 1]!) continue;
        let at = found < near.length ? found++ : found - 1;
        for (; at > 0 && distances[at - 1]! > d2; at--) {
          distances[at] = distances[at - 1]!;
          near[at] = near[at - 1]!;
        }
        distances[at] = d2;
        near[at] = j;
      }
    }
  }
  return found;
}

/**
 * Writes the numbers of the indexed triangles whose two ratios are within `tolerance` of those given, and whose longest
 * side is from 1/reach to reach times the one given, into `out`; returns how many (at most out.length).
 */
export function findTriangles(
  index: TriangleIndex, triangle: Triangle, tolerance: number, reach: number, out: Int32Array,
): number {
  const { shapes } = index;
  const lowMiddle = triangle.middle - tolerance, highMiddle = triangle.middle + tolerance;
  const lowShort = triangle.short - tolerance, highShort = triangle.short + tolerance;
  const lowSide = triangle.side / reach, highSide = triangle.side * reach;
  const m0 = Math.max(0, Math.floor(lowMiddle * BINS));
  const m1 = Math.min(BINS - 1, Math.floor(highMiddle * BINS));
  const s0 = Math.max(0, Math.floor(lowShort * BINS));
  const s1 = Math.min(BINS - 1, Math.floor(highShort * BINS));
  let n = 0;
  for (let m = m0; m <= m1; m++) {
    const to = index.start[m * BINS + s1 + 1]!;
    for (let t = index.start[m * BINS + s0]!; t < to && n < out.length; t++) {
      const middle = shapes[3 * t]!, short = shapes[3 * t + 1]!, side = Math.abs(shapes[3 * t + 2]!);
      const alike = middle > lowMiddle && middle < highMiddle && short > lowShort && short < highShort;
      if (alike && side > lowSide && side < highSide) out[n++] = t;
    }
  }
  return n;
}
