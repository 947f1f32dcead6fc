import type { Vector } from '../geometry/vector.js';
import { type Lens, toDirection } from './lens.js';
import { type PlaceGrid, makePlaceGrid } from './placeGrid.js';
import { spreadOut } from './spotOrder.js';

/**
 * Detections as the search needs them, in an order that spreads over the picture: the brightest of each part of it, then
 * the second of each, and so on. A satellite's chopped-up trail or a tree line full of spots then can't take all places.
 */
export interface Spots {
  readonly count: number;
  /** Pixels. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly width: number;
  readonly height: number;
  /** Numbers of the spots, brightest first. */
  readonly brightest: Int32Array;
  /** The first {@link MOST_SPOTS}, to find the nearest to a place. */
  readonly grid: PlaceGrid;
  /** Direction of spot i in the camera frame, length 1. */
  ray(lens: Lens, i: number): Vector;
}

/** Number of spots used to judge a pose: the first of all. */
export const MOST_SPOTS = 120;

/** @param detections brightest first */
export function makeSpots(detections: readonly { readonly x: number; readonly y: number }[], width: number, height: number): Spots {
  const count = detections.length;
  const order = spreadOut(detections, width, height);
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  const brightest = new Int32Array(count);
  for (let i = 0; i < count; i++) {
    const d = detections[order[i]!]!;
    x[i] = d.x;
    y[i] = d.y;
    brightest[order[i]!] = i;
  }
  const used = Math.min(count, MOST_SPOTS);
  const grid = makePlaceGrid(x.subarray(0, used), y.subarray(0, used), width, height, Math.max(width, height) / 12);
  return { count, x, y, width, height, brightest, grid, ray: (lens, i) => toDirection(lens, x[i]!, y[i]!) };
}
