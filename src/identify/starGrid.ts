/**
 * Stars around a pole sorted into square cells, to find neighbours without trigonometry. Cells lie in the plane of the
 * ICRS equator: seen along the pole stars are never farther apart than on the sky, so a neighbour is never missed.
 */
export interface StarGrid {
  /** Width of a cell: the chord within which all neighbours are in the 3×3 cells around a star. */
  readonly cell: number;
  readonly columns: number;
  /** Members of cell c are members[start[c]] … members[start[c + 1] - 1], in rising number. */
  readonly start: Int32Array;
  readonly members: Int32Array;
  /** Cell of each star. */
  readonly cellOf: Int32Array;
}

/** Finer cells than this many across only cost memory. */
const MOST_COLUMNS = 400;

/** @param directions 3·count ICRS directions, all on one side of the equator */
export function makeStarGrid(directions: Float64Array, count: number, cell: number): StarGrid {
  let reach = 0;
  for (let i = 0; i < count; i++) reach = Math.max(reach, Math.abs(directions[3 * i]!), Math.abs(directions[3 * i + 1]!));
  const width = Math.max(cell, (2 * reach) / MOST_COLUMNS);
  // An empty rim saves every look around a cell from asking whether there is one.
  const columns = Math.floor((2 * reach) / width) + 3;
  const start = new Int32Array(columns * columns + 1);
  const cellOf = new Int32Array(count);
  for (let i = 0; i < count; i++) {
    const c = Math.floor((directions[3 * i]! + reach) / width) + 1;
    const r = Math.floor((directions[3 * i + 1]! + reach) / width) + 1;
    cellOf[i] = r * columns + c;
    start[r * columns + c + 1]!++;
  }
  for (let c = 0; c < columns * columns; c++) start[c + 1]! += start[c]!;
  const fill = start.slice();
  const members = new Int32Array(count);
  for (let i = 0; i < count; i++) members[fill[cellOf[i]!]!++] = i;
  return { cell: width, columns, start, members, cellOf };
}

/** The stars of the 3×3 cells around a cell that is not on the rim, in rising number. */
export function starsAround(grid: StarGrid, cell: number): Int32Array {
  let count = 0;
  for (let r = -1; r <= 1; r++) {
    const from = cell + r * grid.columns;
    count += grid.start[from + 2]! - grid.start[from - 1]!;
  }
  const out = new Int32Array(count);
  let n = 0;
  for (let r = -1; r <= 1; r++) {
    const from = cell + r * grid.columns;
    const row = grid.members.subarray(grid.start[from - 1]!, grid.start[from + 2]!);
    out.set(row, n);
    n += row.length;
  }
  return out.sort();
}
