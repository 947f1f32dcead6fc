import type { StarCap } from './starCap.js';
import { type StarGrid, makeStarGrid, starsAround } from './starGrid.js';
import { type TriangleIndex, buildTriangleIndex } from './triangles.js';

/**
 * Stars a frame that triangles are made of; how many of its nearest brighter ones each makes triangles with; how far
 * around a triangle stars are asked whether a pose makes sense, in field widths.
 */
const FLAT = { starsPerField: 28, partners: 7, companionsWithin: 0.45 };
/** In wide fields (radians across) fewer triangles keep their shape, and few stars make a whole index. */
const WIDE = { starsPerField: 48, partners: 9, companionsWithin: 0.45, from: 0.16 };
/** Brightest stars around a triangle that are asked whether a pose makes sense. */
const COMPANIONS = 28;
/** Sides of indexed triangles, in field widths. */
export const SHORTEST_SIDE = 0.14;
export const LONGEST_SIDE = 0.5;
/** Wider fields than this (radians) hold so many stars that the brightest are found at once. */
const NO_GRID = 0.07;
const WORTH_A_GRID = 8;

/** The stars that frames of one size near the pole show best, and their triangles by shape. */
export interface FieldIndex {
  /** Chord across the field it was made for, radians. */
  readonly fieldWidth: number;
  /** Stars up to this far from the pole are in it, radians. */
  readonly radius: number;
  readonly triangles: TriangleIndex;
  /** Cap number of each indexed star. */
  readonly stars: Int32Array;
  /**
   * The indexed stars in an order in which neighbours on the sky are neighbours in memory: cap numbers by place, and the
   * place of each index number.
   */
  readonly places: Int32Array;
  readonly placeOf: Int32Array;
  /** Places of the brightest indexed stars near one of them (given by its index number). */
  companions(star: number): Int32Array;
  /** Cap numbers of all stars within a field diagonal of an indexed star, brightest first; null = take the whole cap. */
  around(star: number): Int32Array | null;
}

/**
 * Chooses the stars that a field of this size (radians) shows best within `radius` of the pole, and indexes their
 * triangles. Neighbours are found by ICRS directions, shapes are those the air leaves at the cap's moment: good for the
 * whole night, as long as the pole stands more than some degrees above the horizon.
 */
export function buildFieldIndex(cap: StarCap, fieldWidth: number, fieldHeight: number, radius: number): FieldIndex {
  const { starsPerField, partners, companionsWithin } = fieldWidth > WIDE.from ? WIDE : FLAT;
  const known = cap.reveal(radius);
  const capArea = 2 * Math.PI * (1 - Math.cos(Math.min(radius, Math.PI / 4)));
  const wanted = Math.ceil((starsPerField * capArea) / (fieldWidth * fieldHeight));
  const limit = Math.max(0, Math.cos(radius));
  const stars = new Int32Array(Math.min(wanted, known.length));
  const directions = new Float64Array(3 * stars.length);
  const icrs = new Float64Array(3 * stars.length);
  const [px, py, pz] = cap.centre;
  let n = 0;
  for (let k = 0; k < known.length && n < stars.length; k++) {
    const i = known[k]!;
    const x = cap.directions[3 * i]!, y = cap.directions[3 * i + 1]!, z = cap.directions[3 * i + 2]!;
    if (!(x * px + y * py + z * pz > limit)) continue;
    stars[n] = i;
    const at = 3 * n;
    directions[at] = x;
    directions[at + 1] = y;
    directions[at + 2] = z;
    cap.fixed(i, icrs, at);
    n++;
  }
  const longest = LONGEST_SIDE * fieldWidth;
  const grid = makeStarGrid(icrs, n, longest);
  const companions = new Array<Int32Array | undefined>(n);
  const placeOf = new Int32Array(n);
  const places = new Int32Array(n);
  for (let m = 0; m < n; m++) {
    placeOf[grid.members[m]!] = m;
    places[m] = stars[grid.members[m]!]!;
  }
  const diagonal = Math.hypot(fieldWidth, fieldHeight);
  let deep: DeepGrid | null = null;
  let asked = 0;
  return {
    fieldWidth, radius, stars: stars.subarray(0, n), places, placeOf,
    triangles: buildTriangleIndex(directions, n, grid, SHORTEST_SIDE * fieldWidth, longest, partners),
    companions: (star) => (companions[star] ??= brightestNear(icrs, grid, star, companionsWithin * fieldWidth, placeOf)),
    around: (star) => {
      if (fieldWidth > NO_GRID) return null;
      // The grid pays only after some questions.
      if (++asked < WORTH_A_GRID) return null;
      deep ??= makeDeepGrid(cap, radius + diagonal, diagonal);
      return deep.around(stars[star]!);
    },
  };
}

/** Places of the brightest indexed stars within a chord of one of them, itself left out. */
function brightestNear(icrs: Float64Array, grid: StarGrid, star: number, within: number, placeOf: Int32Array): Int32Array {
  const x = icrs[3 * star]!, y = icrs[3 * star + 1]!, z = icrs[3 * star + 2]!;
  const chosen = new Int32Array(COMPANIONS);
  let n = 0;
  for (let row = -1; row <= 1; row++) {
    const cell = grid.cellOf[star]! + row * grid.columns;
    const end = grid.start[cell + 2]!;
    for (let m = grid.start[cell - 1]!; m < end; m++) {
      const i = grid.members[m]!;
      const dx = icrs[3 * i]! - x, dy = icrs[3 * i + 1]! - y, dz = icrs[3 * i + 2]! - z;
      if (i === star || dx * dx + dy * dy + dz * dz > within * within) continue;
      if (n === COMPANIONS && i > chosen[n - 1]!) continue;
      let at = n < COMPANIONS ? n++ : n - 1;
      for (; at > 0 && chosen[at - 1]! > i; at--) chosen[at] = chosen[at - 1]!;
      chosen[at] = i;
    }
  }
  const out = new Int32Array(n);
  for (let k = 0; k < n; k++) out[k] = placeOf[chosen[k]!]!;
  return out;
}

/** All stars, however faint, found by neighbourhood. */
interface DeepGrid {
  /** Cap numbers of all stars in the 3×3 cells around a star, brightest first. */
  around(star: number): Int32Array;
}

function makeDeepGrid(cap: StarCap, radius: number, cell: number): DeepGrid {
  const known = cap.reveal(radius);
  const directions = new Float64Array(3 * known.length);
  for (let k = 0; k < known.length; k++) cap.fixed(known[k]!, directions, 3 * k);
  const grid = makeStarGrid(directions, known.length, cell);
  const lists = new Map<number, Int32Array>();
  return {
    around: (star) => {
      const at = grid.cellOf[placeIn(known, star)]!;
      let list = lists.get(at);
      if (!list) lists.set(at, list = starsAround(grid, at).map((k) => known[k]!));
      return list;
    },
  };
}

/** Where a number stands in a rising list that holds it. */
function placeIn(rising: Int32Array, number: number): number {
  let low = 0;
  let high = rising.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (rising[middle]! < number) low = middle + 1;
    else high = middle;
  }
  return low;
}
