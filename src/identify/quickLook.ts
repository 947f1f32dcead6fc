import type { Spots } from './spots.js';

/** Spots that count. */
const MOST_SPOTS = 90;
/** Share of stars that a true pose finds on spots here, at worst. */
const SEEN = 0.35;
const GIVE_UP = -3;
const ENOUGH = 6;

/** A coarse map of where the brighter spots are, to ask of many poses quickly whether stars fall on spots. */
export interface QuickLook {
  readonly cellsPerPixel: number;
  readonly columns: number;
  readonly map: Uint8Array;
  /** Natural logarithms of likelihood ratios: a star on a spot, a star on none. */
  readonly gain: number;
  readonly loss: number;
  readonly width: number;
  readonly height: number;
}

/** @param radius distance in pixels within which a star is on a spot */
export function makeQuickLook(spots: Spots, radius: number): QuickLook {
  const cell = radius / 2;
  const columns = Math.ceil(spots.width / cell) + 1;
  const rows = Math.ceil(spots.height / cell) + 1;
  const map = new Uint8Array(columns * rows);
  const used = Math.min(spots.count, MOST_SPOTS);
  let occupied = 0;
  for (let i = 0; i < used; i++) {
    const x = spots.x[i]! / cell, y = spots.y[i]! / cell;
    for (let r = Math.max(0, Math.floor(y - 2)); r <= Math.min(rows - 1, y + 2); r++) {
      for (let c = Math.max(0, Math.floor(x - 2)); c <= Math.min(columns - 1, x + 2); c++) {
        const dx = c + 0.5 - x, dy = r + 0.5 - y;
        if (dx * dx + dy * dy > 4 || map[r * columns + c] === 1) continue;
        map[r * columns + c] = 1;
        occupied++;
      }
    }
  }
  const chance = Math.min(0.3, Math.max(1e-3, occupied / map.length));
  return {
    cellsPerPixel: 1 / cell, columns, map, width: spots.width, height: spots.height,
    gain: Math.log(SEEN / chance), loss: Math.log((1 - SEEN) / (1 - chance)),
  };
}

/**
 * True if so many of the `companions` fall on spots that the pose deserves a closer look (Wald's sequential test, A. Wald
 * 1945, Ann. Math. Stat. 16, 117: it ends as soon as the answer is likely enough).
 *
 * @param pose 9 numbers, camera to sky
 * @param lens focal length in pixels, principal point, first two radial terms, 1 if mirrored: 6 numbers
 * @param a, b, c, d the stars that the pose was made from, three or four; the first of them must fall on a spot, too
 */
export function looksRight(
  look: QuickLook, pose: Float64Array, lens: Float64Array, directions: Float64Array, companions: Int32Array,
  a: number, b: number, c: number, d = c,
): boolean {
  if (hit(look, pose, lens, directions, a) !== 1) return false;
  let score = 0;
  for (let n = 0; n < companions.length; n++) {
    const star = companions[n]!;
    if (star === a || star === b || star === c || star === d) continue;
    const on = hit(look, pose, lens, directions, star);
    if (on < 0) continue;
    score += on === 1 ? look.gain : look.loss;
    if (score < GIVE_UP) return false;
    if (score > ENOUGH) return true;
  }
  return false;
}

/** 1 = on a spot, 0 = on none, -1 = outside the picture. */
function hit(look: QuickLook, pose: Float64Array, lens: Float64Array, d: Float64Array, star: number): number {
  const x = d[3 * star]!, y = d[3 * star + 1]!, z = d[3 * star + 2]!;
  const cz = pose[2]! * x + pose[5]! * y + pose[8]! * z;
  if (!(cz > 0.2)) return -1;
  const inverse = 1 / cz;
  const u = (pose[0]! * x + pose[3]! * y + pose[6]! * z) * inverse;
  const v = (pose[1]! * x + pose[4]! * y + pose[7]! * z) * inverse;
  const s = u * u + v * v;
  const f = lens[0]! * (1 + s * (lens[3]! + s * lens[4]!));
  const px = lens[1]! + (lens[5] === 1 ? -f : f) * u;
  const py = lens[2]! + f * v;
  if (!(px >= 0 && py >= 0 && px < look.width && py < look.height)) return -1;
  return look.map[((py * look.cellsPerPixel) | 0) * look.columns + ((px * look.cellsPerPixel) | 0)]!;
}
