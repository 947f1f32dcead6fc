/**
 * Four stars described by what rotation and scale leave alone (Lang et al. 2010, AJ 139, 1782, section 2.1): the two that
 * are farthest apart, A and B, span a square frame in which A is at (-1, 0) and B at (1, 0); the places of the other two, C
 * and D, are the description. Places are those on the plane that touches the sphere between A and B, so that the
 * description is exact in wide fields, too.
 */
export interface Quad {
  /** Which stars of the list A, B, C and D are. */
  a: number;
  b: number;
  c: number;
  d: number;
  /** Chord from A to B. */
  side: number;
  /** The place of C and that of D. */
  cx: number;
  cy: number;
  dx: number;
  dy: number;
}

export function emptyQuad(): Quad {
  return { a: 0, b: 0, c: 0, d: 0, side: 0, cx: 0, cy: 0, dx: 0, dy: 0 };
}

/** Squares of the chords between stars, for the stars of a list: number of the one times `count`, plus number of the other. */
export interface Chords {
  readonly count: number;
  readonly squares: Float64Array;
}

export function emptyChords(count: number): Chords {
  return { count, squares: new Float64Array(count * count) };
}

/** Fills in the chords between the stars whose numbers in a flat array of directions are given. */
export function measureChords(directions: Float64Array, stars: ArrayLike<number>, used: number, { count, squares }: Chords): void {
  for (let i = 1; i < used; i++) {
    const a = 3 * stars[i]!;
    const x = directions[a]!, y = directions[a + 1]!, z = directions[a + 2]!;
    for (let j = 0; j < i; j++) {
      const b = 3 * stars[j]!;
      const dx = directions[b]! - x, dy = directions[b + 1]! - y, dz = directions[b + 2]! - z;
      const square = dx * dx + dy * dy + dz * dz;
      squares[i * count + j] = square;
      squares[j * count + i] = square;
    }
  }
}

/**
 * Describes four stars of a list (given by their places in it), in the order in which cx ≤ dx and cx + dx ≤ 0.
 * False if A and B are not between `shortest` and `longest` apart (chords), or C or D is outside the circle over A and B.
 *
 * @param stars numbers, in the flat array of directions, of the stars of the list
 */
export function describeQuad(
  directions: Float64Array, stars: ArrayLike<number>, { count, squares }: Chords, i: number, j: number, k: number, l: number,
  shortest: number, longest: number, out: Quad,
): boolean {
  let a = i, b = j, c = k, d = l;
  let most = squares[i * count + j]!;
  let s = squares[i * count + k]!;
  if (s > most) { most = s; b = k; c = j; }
  s = squares[i * count + l]!;
  if (s > most) { most = s; b = l; c = j; d = k; }
  s = squares[j * count + k]!;
  if (s > most) { most = s; a = j; b = k; c = i; d = l; }
  s = squares[j * count + l]!;
  if (s > most) { most = s; a = j; b = l; c = i; d = k; }
  s = squares[k * count + l]!;
  if (s > most) { most = s; a = k; b = l; c = i; d = j; }
  if (most < shortest * shortest || most > longest * longest) return false;
  const ca = squares[c * count + a]!, cb = squares[c * count + b]!;
  const da = squares[d * count + a]!, db = squares[d * count + b]!;
  if (!isInside(ca, cb, most) || !isInside(da, db, most)) return false;
  setEnds(directions, 3 * stars[a]!, 3 * stars[b]!, most, ENDS);
  orderQuad(
    a, b, c, d, alongEnds(ENDS, ca, cb), acrossEnds(ENDS, directions, 3 * stars[c]!, ca, cb), alongEnds(ENDS, da, db),
    acrossEnds(ENDS, directions, 3 * stars[d]!, da, db), most, out,
  );
  return true;
}

/** Whether a star is inside the circle over A and B, on the sphere as on the plane: by the squares of the chords to and between them. */
export function isInside(toA: number, toB: number, square: number): boolean {
  return toA + toB <= square;
}

/** What the places of all stars between A and B need. */
export interface QuadEnds {
  along: number;
  across: number;
  /** At right angles to both. */
  x: number;
  y: number;
  z: number;
}

export function emptyEnds(): QuadEnds {
  return { along: 0, across: 0, x: 0, y: 0, z: 0 };
}

const ENDS = emptyEnds();

/** @param a where the direction of A begins, of B likewise; `square` that of the chord between them */
export function setEnds(directions: Float64Array, a: number, b: number, square: number, out: QuadEnds): void {
  // With e = B - A and m = A + B, both follow for any P of length 1 from its chords: P·e and P·m. Places are P·e / |e| over
  // P·m / |m|, divided by that of B, which is |e| / |m|.
  const ax = directions[a]!, ay = directions[a + 1]!, az = directions[a + 2]!;
  const ex = directions[b]! - ax, ey = directions[b + 1]! - ay, ez = directions[b + 2]! - az;
  out.along = (4 - square) / square;
  // m × e = 2 A × e, at right angles to both.
  out.across = (4 * Math.sqrt(4 - square)) / square;
  out.x = ay * ez - az * ey;
  out.y = az * ex - ax * ez;
  out.z = ax * ey - ay * ex;
}

/** The place of a star along the line from A to B, by the squares of its chords to them. */
export function alongEnds({ along }: QuadEnds, toA: number, toB: number): number {
  return along * (toA - toB) * (1 / (4 - toA - toB));
}

/** Its place across. */
export function acrossEnds({ across, x, y, z }: QuadEnds, directions: Float64Array, star: number, toA: number, toB: number): number {
  return across * (directions[star]! * x + directions[star + 1]! * y + directions[star + 2]! * z) * (1 / (4 - toA - toB));
}

/** A quad with its stars in the order in which cx ≤ dx and cx + dx ≤ 0. */
export function orderQuad(
  a: number, b: number, c: number, d: number, cx: number, cy: number, dx: number, dy: number, square: number, out: Quad,
): void {
  const turned = cx + dx > 0;
  const swapped = turned ? cx < dx : cx > dx;
  const turn = turned ? -1 : 1;
  out.side = Math.sqrt(square);
  out.a = turned ? b : a;
  out.b = turned ? a : b;
  out.c = swapped ? d : c;
  out.d = swapped ? c : d;
  out.cx = turn * (swapped ? dx : cx);
  out.cy = turn * (swapped ? dy : cy);
  out.dx = turn * (swapped ? cx : dx);
  out.dy = turn * (swapped ? cy : dy);
}
