import type { SkyStars } from '../sky/catalogueSky.js';
import {
  type Chords, type Quad, type QuadEnds, acrossEnds, alongEnds, emptyChords, emptyEnds, emptyQuad, isInside, measureChords, orderQuad,
  setEnds,
} from './quads.js';
import { type SphereAngles, type SphereGrid, makeSphereGrid } from './sphereGrid.js';

/** Sides of the sky's quads, in field widths. */
export const SHORTEST = 0.2;
export const LONGEST = 0.5;
/**
 * A star makes quads with each three of so many of its nearest brighter ones. The fewer stars there are, the more partners each
 * has, so that enough quads are left where stars are hidden.
 */
const FEWEST_PARTNERS = 5;
const MOST_PARTNERS = 12;
/** Number of brightest stars around a quad by which a pose is tested at first. */
const COMPANIONS = 100;

/** The stars of a part of the sky that frames of one size show best. */
export interface QuadStars {
  /** Chord across the field they were chosen for, radians. */
  readonly fieldWidth: number;
  readonly count: number;
  /** 3·count ICRS directions in the order of the grid's cells: what is near on the sky is near in memory. */
  readonly directions: Float64Array;
  /** Place of each star in the order of brightness, the brightest first; not all places are taken. */
  readonly rank: Int32Array;
  readonly grid: SphereGrid;
  /** Partners of each star. */
  readonly partners: number;
  /** The brightest of them around one. */
  companions(star: number): Int32Array;
}

/** How many quads are made. */
export interface QuadsWanted {
  /** Stars in a square of half a field's width: a frame of 3 : 2 holds nearly three such squares. */
  readonly starsPerCell: number;
  /** About how many sets of four stars are looked at. */
  readonly tried: number;
}

/**
 * Chooses the stars that fields of one width show best. Pauses (yields) every few milliseconds.
 *
 * @param stars brightest first
 * @param angles of these stars and maybe more
 * @param fieldWidth radians
 */
export function* chooseQuadStars(
  stars: SkyStars, angles: SphereAngles, fieldWidth: number, { starsPerCell, tried }: QuadsWanted,
): Generator<null, QuadStars> {
  // Cells are a little larger than asked for: so may their number of stars be.
  const grid = makeSphereGrid(angles, stars.count, LONGEST * fieldWidth, starsPerCell);
  yield null;
  const rank = grid.members;
  const count = rank.length;
  const directions = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) {
    const from = 3 * rank[i]!;
    for (let c = 0; c < 3; c++) directions[3 * i + c] = stars.directions[from + c]!;
  }
  yield null;
  const lists = new Map<number, Int32Array>();
  return {
    fieldWidth, count, directions, rank, grid, partners: partnersFor(count, tried),
    companions: (star) => {
      const cell = grid.cellOf[rank[star]!]!;
      let list = lists.get(cell);
      if (!list) lists.set(cell, list = brightestAround(grid.around(cell), rank));
      return list;
    },
  };
}

/** The quads of one star after the other, and the memory that they are written to. */
export interface QuadMaker {
  readonly from: QuadStars;
  /** Places of C and D and the chord from A to B: 5 numbers a quad. */
  readonly codes: Float64Array;
  /** Stars A, B, C and D: 4 numbers a quad. */
  readonly stars: Int32Array;
  /** Room for one star's partners, nearest first, and itself; for the squares of their distances; for their chords; for a quad. */
  readonly group: Int32Array;
  readonly distances: Float64Array;
  readonly chords: Chords;
  readonly quad: Quad;
  readonly ends: QuadEnds;
  /** Room for the stars inside a circle and their places. */
  readonly inside: Int32Array;
  readonly along: Float64Array;
  readonly across: Float64Array;
}

export const CODE_NUMBERS = 5;

export function makeQuadMaker(from: QuadStars): QuadMaker {
  const { partners } = from;
  const most = (partners * (partners - 1) * (partners - 2)) / 6;
  return {
    from, codes: new Float64Array(CODE_NUMBERS * most), stars: new Int32Array(4 * most), group: new Int32Array(partners + 1),
    distances: new Float64Array(partners), chords: emptyChords(partners + 1), quad: emptyQuad(), ends: emptyEnds(),
    inside: new Int32Array(partners), along: new Float64Array(partners), across: new Float64Array(partners),
  };
}

/**
 * Writes the quads whose faintest star is the given one into the maker's memory; returns how many. Ends A and B are chosen first: the other
 * two stars of a quad are inside the circle over them, and their places are the same for all quads with these ends.
 *
 * @param near the grid's ranges around the star's cell
 */
export function quadsOf(maker: QuadMaker, star: number, near: readonly number[]): number {
  const { from: { directions, fieldWidth }, group, chords } = maker;
  const found = brighterPartners(maker, near, star);
  if (found < 3) return 0;
  const shortest = (SHORTEST * fieldWidth) ** 2, longest = (LONGEST * fieldWidth) ** 2;
  group[found] = star;
  measureChords(directions, group, found + 1, chords);
  let count = 0;
  for (let b = 1; b <= found; b++) {
    for (let a = 0; a < b; a++) {
      const square = chords.squares[b * chords.count + a]!;
      if (square < shortest || square > longest) continue;
      setEnds(directions, 3 * group[a]!, 3 * group[b]!, square, maker.ends);
      // The star itself first: one of the two ends, or one of the two stars inside.
      let within = 0;
      if (b < found && !takeInside(maker, a, b, found, square, within++)) continue;
      for (let c = 0; c < found; c++) if (c !== a && c !== b && takeInside(maker, a, b, c, square, within)) within++;
      for (let i = 0; i < within; i++) {
        if (i > 0 && b < found) break;
        for (let j = i + 1; j < within; j++) writeQuad(maker, a, b, i, j, square, count++);
      }
    }
  }
  return count;
}

/** Notes the place of a star, given by its place in the group, if it is inside the circle over A and B. */
function takeInside(
  { from: { directions }, group, chords: { count, squares }, ends, inside, along, across }: QuadMaker, a: number, b: number, star: number,
  square: number, at: number,
): boolean {
  const toA = squares[star * count + a]!, toB = squares[star * count + b]!;
  if (!isInside(toA, toB, square)) return false;
  inside[at] = star;
  along[at] = alongEnds(ends, toA, toB);
  across[at] = acrossEnds(ends, directions, 3 * group[star]!, toA, toB);
  return true;
}

function writeQuad(
  { codes, stars, group, quad, inside, along, across }: QuadMaker, a: number, b: number, i: number, j: number, square: number,
  number: number,
): void {
  orderQuad(a, b, inside[i]!, inside[j]!, along[i]!, across[i]!, along[j]!, across[j]!, square, quad);
  const code = CODE_NUMBERS * number, at = 4 * number;
  codes[code] = quad.cx;
  codes[code + 1] = quad.cy;
  codes[code + 2] = quad.dx;
  codes[code + 3] = quad.dy;
  codes[code + 4] = quad.side;
  stars[at] = group[quad.a]!;
  stars[at + 1] = group[quad.b]!;
  stars[at + 2] = group[quad.c]!;
  stars[at + 3] = group[quad.d]!;
}

function brightestAround(ranges: readonly number[], rank: Int32Array): Int32Array {
  let count = 0;
  for (let r = 0; r < ranges.length; r += 2) count += ranges[r + 1]! - ranges[r]!;
  // Rank and place in one number: numbers alone are sorted quickly.
  const keys = new Float64Array(count);
  let n = 0;
  for (let r = 0; r < ranges.length; r += 2) for (let i = ranges[r]!; i < ranges[r + 1]!; i++) keys[n++] = rank[i]! * PLACES + i;
  return Int32Array.from(keys.sort().subarray(0, COMPANIONS), (key) => key % PLACES);
}

/** More than there are stars. */
const PLACES = 2 ** 22;

function partnersFor(stars: number, tried: number): number {
  for (let most = MOST_PARTNERS; most > FEWEST_PARTNERS; most--) {
    if (stars * most * (most - 1) * (most - 2) <= 6 * tried) return most;
  }
  return FEWEST_PARTNERS;
}

/**
 * Finds the nearest brighter stars within the longest side, nearest first, writes them into the maker's group, and returns how
 * many there are.
 *
 * @param near ranges of stars to choose from, brightest first in each
 */
function brighterPartners(maker: QuadMaker, near: readonly number[], star: number): number {
  const { from: { directions, rank, fieldWidth, partners: most }, group, distances } = maker;
  const longest = LONGEST * fieldWidth;
  const bright = rank[star]!;
  const x = directions[3 * star]!, y = directions[3 * star + 1]!, z = directions[3 * star + 2]!;
  let found = 0;
  let farthest = longest * longest;
  for (let r = 0; r < near.length; r += 2) {
    const to = near[r + 1]!;
    for (let j = near[r]!; j < to; j++) {
      if (rank[j]! >= bright) break;
      const dx = directions[3 * j]! - x, dy = directions[3 * j + 1]! - y, dz = directions[3 * j + 2]! - z;
      const d2 = dx * dx + dy * dy + dz * dz;
      if (d2 >= farthest) continue;
      let p = found < most ? found++ : most - 1;
      for (; p > 0 && distances[p - 1]! > d2; p--) {
        distances[p] = distances[p - 1]!;
        group[p] = group[p - 1]!;
      }
      distances[p] = d2;
      group[p] = j;
      if (found === most) farthest = distances[most - 1]!;
    }
  }
  return found;
}
