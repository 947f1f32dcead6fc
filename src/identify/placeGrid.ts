/** Places in a picture sorted into square cells. */
export interface PlaceGrid {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Width of a cell, pixels. */
  readonly cell: number;
  readonly columns: number;
  readonly rows: number;
  /** Members of cell c (row by row) are members[start[c]] … members[start[c + 1] - 1]. */
  readonly start: Int32Array;
  readonly members: Int32Array;
}

/** Finer grids only cost memory. */
const MOST_CELLS = 20_000;

/** @param x, y pixels; places that are NaN or outside 0 … width, 0 … height are left out */
export function makePlaceGrid(x: Float64Array, y: Float64Array, width: number, height: number, cell: number): PlaceGrid {
  const size = Math.max(cell, Math.sqrt((width * height) / MOST_CELLS));
  const columns = Math.floor(width / size) + 1;
  const rows = Math.floor(height / size) + 1;
  const start = new Int32Array(columns * rows + 1);
  const cellOf = (i: number): number =>
    x[i]! >= 0 && y[i]! >= 0 && x[i]! <= width && y[i]! <= height ? Math.floor(y[i]! / size) * columns + Math.floor(x[i]! / size) : -1;
  for (let i = 0; i < x.length; i++) {
    const c = cellOf(i);
    if (c >= 0) start[c + 1]!++;
  }
  for (let c = 0; c < columns * rows; c++) start[c + 1]! += start[c]!;
  const fill = start.slice();
  const members = new Int32Array(start[columns * rows]!);
  for (let i = 0; i < x.length; i++) {
    const c = cellOf(i);
    if (c >= 0) members[fill[c]!++] = i;
  }
  return { x, y, cell: size, columns, rows, start, members };
}

/** Number of the place nearest to a point and nearer than `radius` (pixels), or -1. */
export function nearestPlace(grid: PlaceGrid, x: number, y: number, radius: number): number {
  const { cell, columns, start, members } = grid;
  const left = Math.max(0, Math.floor((x - radius) / cell)), right = Math.min(columns - 1, Math.floor((x + radius) / cell));
  const top = Math.max(0, Math.floor((y - radius) / cell)), bottom = Math.min(grid.rows - 1, Math.floor((y + radius) / cell));
  let best = radius * radius;
  let found = -1;
  for (let r = top; r <= bottom; r++) {
    const to = start[r * columns + right + 1]!;
    for (let m = start[r * columns + left]!; m < to; m++) {
      const i = members[m]!;
      const dx = grid.x[i]! - x, dy = grid.y[i]! - y;
      const d2 = dx * dx + dy * dy;
      if (d2 < best) { best = d2; found = i; }
    }
  }
  return found;
}
