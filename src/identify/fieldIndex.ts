import type { StarCap } from './starCap.js';
import { type StarGrid, makeStarGrid, starsAround } from './starGrid.js';
import { type TriangleIndex, buildTriangleIndex } from './triangles.js';

/** Stars a frame that triangles are made of. */
const STARS_PER_FIELD = 28;
/** Each star makes triangles with this many of its nearest brighter ones. */
const PARTNERS = 7;
/** Brightest stars around a triangle that are asked whether a pose makes sense. */
const COMPANIONS = 60;
/** Sides of indexed triangles, in field widths. */
export const SHORTEST_SIDE = 0.14;
export const LONGEST_SIDE = 0.5;
/** Wider fields than this (radians) hold so many stars that the brightest are found at once. */
const NO_GRID = 0.07;

/** The stars that frames of one size near the pole show best, and their triangles by shape. */
export interface FieldIndex {
  /** Chord across the field it was made for, radians. */
  readonly fieldWidth: number;
  /** Stars up to this far from the pole are in it, radians. */
  readonly radius: number;
  readonly triangles: TriangleIndex;
  /** Cap number of each indexed star. */
  readonly stars: Int32Array;
  /** Cap numbers of the brightest indexed stars around one of them (given by its index number). */
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
  cap.reveal(radius);
  const capArea = 2 * Math.PI * (1 - Math.cos(Math.min(radius, Math.PI / 4)));
  const wanted = Math.ceil((STARS_PER_FIELD * capArea) / (fieldWidth * fieldHeight));
  const limit = Math.cos(radius);
  const stars = new Int32Array(Math.min(wanted, cap.count));
  const directions = new Float64Array(3 * stars.length);
  const icrs = new Float64Array(3 * stars.length);
  const [px, py, pz] = cap.pole;
  let n = 0;
  for (let i = 0; i < cap.count && n < stars.length; i++) {
    const x = cap.directions[3 * i]!, y = cap.directions[3 * i + 1]!, z = cap.directions[3 * i + 2]!;
    if (!(x * px + y * py + z * pz > limit)) continue;
    stars[n] = i;
    const at = 3 * n;
    directions[at] = x;
    directions[at + 1] = y;
    directions[at + 2] = z;
    for (let k = 0; k < 3; k++) icrs[at + k] = cap.icrs[3 * i + k]!;
    n++;
  }
  const longest = LONGEST_SIDE * fieldWidth;
  const grid = makeStarGrid(icrs, n, longest);
  const brightest = new Map<number, Int32Array>();
  const diagonal = Math.hypot(fieldWidth, fieldHeight);
  let deep: StarGrid | null = null;
  const deepAround = new Map<number, Int32Array>();
  return {
    fieldWidth, radius, stars: stars.subarray(0, n),
    triangles: buildTriangleIndex(directions, n, grid, SHORTEST_SIDE * fieldWidth, longest, PARTNERS),
    companions: (star) => kept(brightest, grid.cellOf[star]!, (cell) => starsAround(grid, cell).slice(0, COMPANIONS).map((i) => stars[i]!)),
    around: (star) => {
      if (fieldWidth > NO_GRID) return null;
      deep ??= makeStarGrid(cap.icrs, cap.count, diagonal);
      const whole = deep;
      return kept(deepAround, whole.cellOf[stars[star]!]!, (cell) => starsAround(whole, cell));
    },
  };
}

function kept<T>(memory: Map<number, T>, key: number, make: (key: number) => T): T {
  let value = memory.get(key);
  if (value === undefined) {
    value = make(key);
    memory.set(key, value);
  }
  return value;
}
