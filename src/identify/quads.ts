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
  // Exactly where C or D is outside the circle over A and B, on the sphere as on the plane.
  if (ca + cb > most || da + db > most) return false;
  // With e = B - A and m = A + B, both follow for any P of length 1 from its chords: P·e and P·m. Places are P·e / |e| over
  // P·m / |m|, divided by that of B, which is |e| / |m|.
  const along = (4 - most) / most;
  const overC = 1 / (4 - ca - cb), overD = 1 / (4 - da - db);
  const cx = along * (ca - cb) * overC;
  const dx = along * (da - db) * overD;
  const ia = 3 * stars[a]!, ib = 3 * stars[b]!, ic = 3 * stars[c]!, id = 3 * stars[d]!;
  const ax = directions[ia]!, ay = directions[ia + 1]!, az = directions[ia + 2]!;
  const ex = directions[ib]! - ax, ey = directions[ib + 1]! - ay, ez = directions[ib + 2]! - az;
  // m × e = 2 A × e, at right angles to both.
  const nx = ay * ez - az * ey, ny = az * ex - ax * ez, nz = ax * ey - ay * ex;
  const across = (4 * Math.sqrt(4 - most)) / most;
  const cy = across * (directions[ic]! * nx + directions[ic + 1]! * ny + directions[ic + 2]! * nz) * overC;
  const dy = across * (directions[id]! * nx + directions[id + 1]! * ny + directions[id + 2]! * nz) * overD;
  const turned = cx + dx > 0;
  const swapped = turned ? cx < dx : cx > dx;
  const turn = turned ? -1 : 1;
  out.side = Math.sqrt(most);
  out.a = turned ? b : a;
  out.b = turned ? a : b;
  out.c = swapped ? d : c;
  out.d = swapped ? c : d;
  out.cx = turn * (swapped ? dx : cx);
  out.cy = turn * (swapped ? dy : cy);
  out.dx = turn * (swapped ? cx : dx);
  out.dy = turn * (swapped ? cy : dy);
  return true;
}
