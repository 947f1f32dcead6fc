import { DEGREE } from '../../geometry/angle.js';
import type { Vector } from '../../geometry/vector.js';

/**
 * The sky divided into cells of nearly the same size: bands of declination, each divided into equal parts of right ascension. Cells are
 * numbered from the south pole, in each band from right ascension 0 on.
 */

const BANDS = 240;
/** Height of a cell, and the most that it is wide, radians. */
export const CELL = Math.PI / BANDS;
/** No point of a cell is farther from its middle than this, radians. */
export const CELL_REACH = 0.54 * DEGREE;

/** First cell of each band, and the number of cells of all bands at the end. */
const FIRST = firstCells();

export const CELLS = FIRST[BANDS]!;

function firstCells(): Int32Array {
  const first = new Int32Array(BANDS + 1);
  for (let band = 0; band < BANDS; band++) {
    const [low, high] = [band * CELL - Math.PI / 2, (band + 1) * CELL - Math.PI / 2];
    // The edge nearer to the equator is the wider one.
    const widest = low < 0 && high > 0 ? 1 : Math.cos(Math.min(Math.abs(low), Math.abs(high)));
    first[band + 1] = first[band]! + Math.max(1, Math.ceil((2 * Math.PI * widest) / CELL - 1e-9));
  }
  return first;
}

/** Cell of a direction (length 1). */
export function cellOf(x: number, y: number, z: number): number {
  const band = Math.min(BANDS - 1, Math.max(0, Math.floor((Math.asin(Math.max(-1, Math.min(1, z))) + Math.PI / 2) / CELL)));
  const first = FIRST[band]!;
  const columns = FIRST[band + 1]! - first;
  const turn = Math.atan2(y, x) / (2 * Math.PI);
  return first + Math.min(columns - 1, Math.floor((turn < 0 ? turn + 1 : turn) * columns));
}

/** The middle of a cell and the directions of east and north there: the axes of its tangent plane. */
export interface CellAxes {
  readonly middle: Vector;
  readonly east: Vector;
  readonly north: Vector;
}

export function cellAxes(cell: number): CellAxes {
  return (axes[cell] ??= makeAxes(cell));
}

/** Results are kept: a search of the whole sky asks for all of them again and again. */
const axes = new Array<CellAxes | undefined>(CELLS);

function makeAxes(cell: number): CellAxes {
  const band = bandOf(cell);
  const columns = FIRST[band + 1]! - FIRST[band]!;
  const declination = (band + 0.5) * CELL - Math.PI / 2;
  const rightAscension = ((cell - FIRST[band]! + 0.5) / columns) * 2 * Math.PI;
  const [cd, sd, ca, sa] = [Math.cos(declination), Math.sin(declination), Math.cos(rightAscension), Math.sin(rightAscension)];
  return { middle: [cd * ca, cd * sa, sd], east: [-sa, ca, 0], north: [-sd * ca, -sd * sa, cd] };
}

function bandOf(cell: number): number {
  let low = 0;
  let high = BANDS - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (FIRST[middle]! <= cell) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** Numbers, ascending, of all cells that reach into the circle of `radius` (radians) around a direction, and of a few next to it. */
export function cellsAround(centre: Vector, radius: number): Int32Array {
  // Beyond half a turn the cosine would make it smaller.
  const reach = Math.min(Math.PI, radius + CELL_REACH);
  const declination = Math.asin(Math.max(-1, Math.min(1, centre[2])));
  const low = Math.max(0, Math.floor((declination - reach + Math.PI / 2) / CELL));
  const high = Math.min(BANDS - 1, Math.floor((declination + reach + Math.PI / 2) / CELL));
  const middle = Math.atan2(centre[1], centre[0]) / (2 * Math.PI);
  const found: number[] = [];
  for (let band = low; band <= high; band++) {
    const columns = FIRST[band + 1]! - FIRST[band]!;
    const half = halfWidth(declination, (band + 0.5) * CELL - Math.PI / 2, reach) / (2 * Math.PI);
    if (2 * half * columns + 1 >= columns) {
      for (let column = 0; column < columns; column++) found.push(FIRST[band]! + column);
      continue;
    }
    const from = Math.floor((middle - half) * columns), to = Math.floor((middle + half) * columns);
    const row: number[] = [];
    for (let column = from; column <= to; column++) row.push(FIRST[band]! + ((column % columns) + columns) % columns);
    found.push(...row.sort((a, b) => a - b));
  }
  return Int32Array.from(found);
}

/** Half the range of right ascension in which middles of cells of one declination are within `reach` of a centre. */
function halfWidth(centre: number, declination: number, reach: number): number {
  const cosine = (Math.cos(reach) - Math.sin(centre) * Math.sin(declination)) / (Math.cos(centre) * Math.cos(declination));
  if (cosine >= 1) return 0;
  return cosine > -1 ? Math.acos(cosine) : Math.PI;
}
