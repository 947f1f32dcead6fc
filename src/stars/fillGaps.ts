/**
 * Fills the cells of a grid that have no value (NaN) with the mean of their neighbours, from the edges of the gaps inward: first those next
 * to cells with a value, then those next to these. Where no cell has a value, nothing is done.
 */
export function fillGaps(grid: Float64Array, columns: number, rows: number): void {
  const around = (c: number, visit: (other: number) => void): void => {
    const [i, j] = [c % columns, Math.floor(c / columns)];
    for (let v = Math.max(0, j - 1); v <= Math.min(rows - 1, j + 1); v++) {
      for (let u = Math.max(0, i - 1); u <= Math.min(columns - 1, i + 1); u++) if (u !== i || v !== j) visit(v * columns + u);
    }
  };
  const isGap = (c: number): boolean => Number.isNaN(grid[c]!);
  let rim: number[] = [];
  for (let c = 0; c < grid.length; c++) {
    let known = false;
    if (isGap(c)) around(c, (other) => { known ||= !isGap(other); });
    if (known) rim.push(c);
  }
  while (rim.length > 0) {
    // The whole edge from values that were there before.
    const means = rim.map((c) => {
      let sum = 0;
      let n = 0;
      around(c, (other) => {
        if (isGap(other)) return;
        sum += grid[other]!;
        n++;
      });
      return sum / n;
    });
    rim.forEach((c, k) => { grid[c] = means[k]!; });
    const next = new Set<number>();
    for (const c of rim) around(c, (other) => { if (isGap(other)) next.add(other); });
    rim = [...next];
  }
}
