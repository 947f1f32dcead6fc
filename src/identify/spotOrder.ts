import type { Spots } from './spots.js';

/** Cells along the longer and the shorter side of the picture. */
const LONG = 4;
const SHORT = 3;

/**
 * The spots in an order that spreads over the picture: the brightest of each cell, then the second of each, and so on.
 * A satellite's chopped-up trail or a tree line full of spots then can't take all the places.
 *
 * @returns numbers of spots
 */
export function spreadOut(spots: Spots): Int32Array {
  const columns = spots.width >= spots.height ? LONG : SHORT;
  const rows = spots.width >= spots.height ? SHORT : LONG;
  const inCell = new Int32Array(columns * rows);
  const rank = new Int32Array(spots.count);
  for (let i = 0; i < spots.count; i++) {
    const c = Math.min(columns - 1, Math.floor((spots.x[i]! / spots.width) * columns));
    const r = Math.min(rows - 1, Math.floor((spots.y[i]! / spots.height) * rows));
    rank[i] = inCell[Math.max(0, r) * columns + Math.max(0, c)]!++;
  }
  // Brightness decides between equal ranks.
  return Int32Array.from(rank.keys()).sort((a, b) => rank[a]! - rank[b]! || a - b);
}
