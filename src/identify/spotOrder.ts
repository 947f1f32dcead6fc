/** Cells along the longer and the shorter side of the picture. */
const LONG = 4;
const SHORT = 3;

/**
 * The order of places (brightest first) that spreads over the picture: the brightest of each of 12 cells, then the second
 * of each, and so on.
 *
 * @returns numbers of the places
 */
export function spreadOut(places: readonly { readonly x: number; readonly y: number }[], width: number, height: number): Int32Array {
  const columns = width >= height ? LONG : SHORT;
  const rows = width >= height ? SHORT : LONG;
  const inCell = new Int32Array(columns * rows);
  const rank = new Int32Array(places.length);
  const order = new Int32Array(places.length);
  for (let i = 0; i < places.length; i++) {
    const c = Math.min(columns - 1, Math.max(0, Math.floor((places[i]!.x / width) * columns)));
    const r = Math.min(rows - 1, Math.max(0, Math.floor((places[i]!.y / height) * rows)));
    rank[i] = inCell[r * columns + c]!++;
    order[i] = i;
  }
  // Brightness decides between equal ranks.
  return order.sort((a, b) => rank[a]! - rank[b]! || a - b);
}
