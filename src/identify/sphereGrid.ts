/** Stars anywhere on the sphere sorted into cells, to find neighbours without trigonometry. */
export interface SphereGrid {
  readonly cells: number;
  /** Cell of each star. */
  readonly cellOf: Int32Array;
  /** Members of cell c are members[start[c]] … members[start[c + 1] - 1], in rising number: the first where it keeps so many only. */
  readonly start: Int32Array;
  readonly members: Int32Array;
  /**
   * Where in `members` the stars within the grid's `reach` of any point of a cell stand, and some beyond: pairs of the first
   * and the one after the last, a pair for each cell.
   */
  around(cell: number): readonly number[];
}

/** Where directions are: angles that grids of any size are made from. */
export interface SphereAngles {
  /** From the third axis, radians. */
  readonly down: Float64Array;
  /** Around it, turns from 0 to 1. */
  readonly around: Float64Array;
}

/** @param directions 3·count directions of length 1 */
export function sphereAngles(directions: Float64Array, count: number): SphereAngles {
  const down = new Float64Array(count), around = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const z = directions[3 * i + 2]!;
    const turn = Math.atan2(directions[3 * i + 1]!, directions[3 * i]!) / (2 * Math.PI);
    down[i] = Math.acos(z > 1 ? 1 : z < -1 ? -1 : z);
    around[i] = turn < 0 ? turn + 1 : turn;
  }
  return { down, around };
}

/**
 * @param angles of that many directions or more
 * @param reach angle in radians; cells are at least as wide and as high
 * @param most stars that a cell keeps, those of the lowest numbers
 */
export function makeSphereGrid({ down, around }: SphereAngles, count: number, reach: number, most = Infinity): SphereGrid {
  const bands = Math.max(1, Math.floor(Math.PI / reach));
  const height = Math.PI / bands;
  const first = firstCells(bands, height, reach);
  const cells = first[bands]!;
  const start = new Int32Array(cells + 1);
  const cellOf = new Int32Array(count);
  for (let i = 0; i < count; i++) {
    const band = Math.min(bands - 1, Math.floor(down[i]! / height));
    const columns = first[band + 1]! - first[band]!;
    const cell = first[band]! + Math.min(columns - 1, Math.floor(around[i]! * columns));
    cellOf[i] = cell;
    start[cell + 1]!++;
  }
  for (let c = 0; c < cells; c++) start[c + 1] = start[c]! + Math.min(most, start[c + 1]!);
  const fill = start.slice();
  const members = new Int32Array(start[cells]!);
  for (let i = 0; i < count; i++) {
    const cell = cellOf[i]!;
    if (fill[cell]! < start[cell + 1]!) members[fill[cell]!++] = i;
  }
  return { cells, cellOf, start, members, around: (cell) => rangesAround(first, start, cell) };
}

/** First cell of each band, counted from the north pole; their number at the end. A cell's narrower edge is as wide as `reach`. */
function firstCells(bands: number, height: number, reach: number): Int32Array {
  const first = new Int32Array(bands + 1);
  for (let band = 0; band < bands; band++) {
    const narrowest = Math.min(Math.sin(band * height), Math.sin((band + 1) * height));
    first[band + 1] = first[band]! + Math.max(1, Math.floor((2 * Math.PI * narrowest) / reach));
  }
  return first;
}

function rangesAround(first: Int32Array, start: Int32Array, cell: number): number[] {
  let band = 0;
  for (let high = first.length - 2; band < high;) {
    const middle = (band + high + 1) >> 1;
    if (first[middle]! <= cell) band = middle;
    else high = middle - 1;
  }
  const columns = first[band + 1]! - first[band]!;
  const column = cell - first[band]!;
  const ranges: number[] = [];
  const take = (from: number, to: number): void => {
    for (let c = from; c < to; c++) if (start[c]! < start[c + 1]!) ranges.push(start[c]!, start[c + 1]!);
  };
  // Its own band first: what is nearest is seen early.
  for (const b of [band, band - 1, band + 1]) {
    if (b < 0 || b + 1 >= first.length) continue;
    const there = first[b + 1]! - first[b]!;
    const wider = Math.max(1 / columns, 1 / there);
    const from = Math.floor((column / columns - wider) * there), to = Math.floor(((column + 1) / columns + wider) * there) + 1;
    if (to - from >= there) {
      take(first[b]!, first[b + 1]!);
      continue;
    }
    const f = ((from % there) + there) % there, t = f + to - from;
    take(first[b]! + f, first[b]! + Math.min(t, there));
    if (t > there) take(first[b]!, first[b]! + t - there);
  }
  return ranges;
}
