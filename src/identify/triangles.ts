/**
 * Triangles of stars described by what rotation and scale leave alone: the ratios of the sides and the handedness.
 * Sides are chords between directions, so that the description is exact anywhere in a wide field.
 */

/** Bins along each side ratio. */
const BINS = 160;
/** The smallest short/long ratio used: thinner triangles fix their place poorly. */
const THINNEST = 0.12;
/** Two sides closer in length than this are not told apart safely. */
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
  const si = chordSquared(d, j, k);
  const sj = chordSquared(d, i, k);
  const sk = chordSquared(d, i, j);
  let a = i, b = j, c = k, sa = si, sb = sj, sc = sk;
  if (sb > sa) { [a, b] = [b, a]; [sa, sb] = [sb, sa]; }
  if (sc > sa) { [a, c] = [c, a]; [sa, sc] = [sc, sa]; }
  if (sc > sb) { [b, c] = [c, b]; [sb, sc] = [sc, sb]; }
  const side = Math.sqrt(sa);
  if (side < shortest || side > longest) return false;
  const middle = Math.sqrt(sb / sa);
  const short = Math.sqrt(sc / sa);
  if (short < THINNEST || middle > NEARLY_EQUAL || short > NEARLY_EQUAL * middle) return false;
  out.a = a;
  out.b = b;
  out.c = c;
  out.side = side;
  out.middle = middle;
  out.short = short;
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

/** Many triangles, found again by shape. */
export interface TriangleIndex {
  readonly count: number;
  /** 3 star numbers a triangle, in the order of {@link Triangle}. */
  readonly stars: Int32Array;
  readonly middle: Float32Array;
  readonly short: Float32Array;
  readonly side: Float32Array;
  readonly handedness: Int8Array;
  /** Triangles of bin n are order[start[n]] … order[start[n + 1] - 1]. */
  readonly start: Int32Array;
  readonly order: Int32Array;
}

function bin(middle: number, short: number): number {
  return Math.min(BINS - 1, Math.floor(middle * BINS)) * BINS + Math.min(BINS - 1, Math.floor(short * BINS));
}

/**
 * Indexes triangles of the stars given (flat directions, brightest first): each star with the pairs among its
 * `partners` nearest brighter stars whose distance lies within the range of sides (chords).
 */
export function buildTriangleIndex(
  directions: Float64Array, count: number, shortest: number, longest: number, partners: number,
): TriangleIndex {
  const visitNear = neighbourhoods(directions, count, longest);
  const capacity = count * ((partners * (partners - 1)) / 2);
  const stars = new Int32Array(3 * capacity);
  const middle = new Float32Array(capacity);
  const short = new Float32Array(capacity);
  const side = new Float32Array(capacity);
  const handedness = new Int8Array(capacity);
  const bins = new Int32Array(capacity);
  const near = new Int32Array(partners);
  const nearDistance = new Float64Array(partners);
  const triangle = emptyTriangle();
  const low2 = (shortest * 0.35) ** 2;
  const high2 = longest * longest;
  let n = 0;
  for (let i = 2; i < count; i++) {
    let found = 0;
    visitNear(i, (j) => {
      if (j >= i) return;
      const d2 = chordSquared(directions, i, j);
      if (d2 < low2 || d2 > high2) return;
      if (found === partners && d2 >= nearDistance[partners - 1]!) return;
      let at = found < partners ? found++ : partners - 1;
      for (; at > 0 && nearDistance[at - 1]! > d2; at--) {
        nearDistance[at] = nearDistance[at - 1]!;
        near[at] = near[at - 1]!;
      }
      nearDistance[at] = d2;
      near[at] = j;
    });
    for (let p = 0; p < found; p++) {
      for (let q = 0; q < p; q++) {
        if (!describeTriangle(directions, i, near[p]!, near[q]!, shortest, longest, triangle)) continue;
        stars[3 * n] = triangle.a;
        stars[3 * n + 1] = triangle.b;
        stars[3 * n + 2] = triangle.c;
        middle[n] = triangle.middle;
        short[n] = triangle.short;
        side[n] = triangle.side;
        handedness[n] = triangle.handedness;
        bins[n] = bin(triangle.middle, triangle.short);
        n++;
      }
    }
  }
  const start = new Int32Array(BINS * BINS + 1);
  for (let t = 0; t < n; t++) start[bins[t]! + 1]!++;
  for (let b = 0; b < BINS * BINS; b++) start[b + 1]! += start[b]!;
  const fill = start.slice(0, BINS * BINS);
  const order = new Int32Array(n);
  for (let t = 0; t < n; t++) order[fill[bins[t]!]!++] = t;
  return { count: n, stars, middle, short, side, handedness, start, order };
}

/** Calls `use` with the number of every indexed triangle whose two ratios are within `tolerance` of those given. */
export function findTriangles(
  index: TriangleIndex, triangle: Triangle, tolerance: number, use: (t: number) => void,
): void {
  const m0 = Math.max(0, Math.floor((triangle.middle - tolerance) * BINS));
  const m1 = Math.min(BINS - 1, Math.floor((triangle.middle + tolerance) * BINS));
  const s0 = Math.max(0, Math.floor((triangle.short - tolerance) * BINS));
  const s1 = Math.min(BINS - 1, Math.floor((triangle.short + tolerance) * BINS));
  for (let m = m0; m <= m1; m++) {
    const from = index.start[m * BINS + s0]!;
    const to = index.start[m * BINS + s1 + 1]!;
    for (let o = from; o < to; o++) {
      const t = index.order[o]!;
      if (Math.abs(index.middle[t]! - triangle.middle) < tolerance && Math.abs(index.short[t]! - triangle.short) < tolerance) use(t);
    }
  }
}

/**
 * Sorts directions into cubic cells, to find neighbours on the sphere without trigonometry. The function returned calls
 * `use` with every star in the 27 cells around star i: all within one cell's width of it and some farther ones.
 */
export function neighbourhoods(
  directions: Float64Array, count: number, cell: number,
): (i: number, use: (j: number) => void) => void {
  const first = new Map<number, number>();
  const next = new Int32Array(count).fill(-1);
  const coordinate = (at: number): number => Math.floor((directions[at]! + 1) / cell) + 1;
  const key = (x: number, y: number, z: number): number => (x * 4096 + y) * 4096 + z;
  for (let i = count - 1; i >= 0; i--) {
    const k = key(coordinate(3 * i), coordinate(3 * i + 1), coordinate(3 * i + 2));
    next[i] = first.get(k) ?? -1;
    first.set(k, i);
  }
  return (i, use) => {
    const x = coordinate(3 * i), y = coordinate(3 * i + 1), z = coordinate(3 * i + 2);
    for (let dx = -1; dx <= 1; dx++) {
      for (let dy = -1; dy <= 1; dy++) {
        for (let dz = -1; dz <= 1; dz++) {
          for (let j = first.get(key(x + dx, y + dy, z + dz)) ?? -1; j >= 0; j = next[j]!) use(j);
        }
      }
    }
  };
}
