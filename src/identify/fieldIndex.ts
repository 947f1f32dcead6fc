import type { StarCap } from './starCap.js';
import { type StarGrid, makeStarGrid, starsAround } from './starGrid.js';
import { type TriangleIndex, buildTriangleIndex } from './triangles.js';

/** Stars a frame that triangles are made of. */
const STARS_PER_FIELD = 28;
/**
 * Each star makes triangles with this many of its nearest brighter ones; in wide fields, where fewer triangles keep their
 * shape, with more.
 */
const PARTNERS = 7;
const PARTNERS_WIDE = 9;
const WIDE = 0.16;
/** Brightest stars around a triangle that are asked whether a pose makes sense, and how far around, in field widths. */
const COMPANIONS = 28;
const COMPANIONS_WITHIN = 0.45;
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
  /** Cap numbers of the brightest indexed stars near one of them (given by its index number). */
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
  const companions = new Array<Int32Array | undefined>(n);
  const diagonal = Math.hypot(fieldWidth, fieldHeight);
  let deep: StarGrid | null = null;
  const deepAround = new Map<number, Int32Array>();
  return {
    fieldWidth, radius, stars: stars.subarray(0, n),
    triangles: buildTriangleIndex(directions, n, grid, SHORTEST_SIDE * fieldWidth, longest, fieldWidth > WIDE ? PARTNERS_WIDE : PARTNERS),
    companions: (star) => (companions[star] ??= brightestNear(icrs, grid, star, COMPANIONS_WITHIN * fieldWidth, stars)),
    around: (star) => {
      if (fieldWidth > NO_GRID) return null;
      deep ??= makeStarGrid(cap.icrs, cap.count, diagonal);
      const whole = deep;
      return kept(deepAround, whole.cellOf[stars[star]!]!, (cell) => starsAround(whole, cell));
    },
  };
}

/** Cap numbers of the brightest indexed stars within a chord of one of them, itself left out. */
function brightestNear(icrs: Float64Array, grid: StarGrid, star: number, within: number, stars: Int32Array): Int32Array {
  const around = starsAround(grid, grid.cellOf[star]!);
  const x = icrs[3 * star]!, y = icrs[3 * star + 1]!, z = icrs[3 * star + 2]!;
  let n = 0;
  for (let k = 0; k < around.length && n < COMPANIONS; k++) {
    const i = around[k]!;
    const dx = icrs[3 * i]! - x, dy = icrs[3 * i + 1]! - y, dz = icrs[3 * i + 2]! - z;
    if (i !== star && dx * dx + dy * dy + dz * dz < within * within) around[n++] = stars[i]!;
  }
  return around.slice(0, n);
}

function kept<T>(memory: Map<number, T>, key: number, make: (key: number) => T): T {
  let value = memory.get(key);
  if (value === undefined) {
    value = make(key);
    memory.set(key, value);
  }
  return value;
}
