import type { Vector } from '../geometry/vector.js';
import { type Lens, toDirection } from './lens.js';
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
  /** Direction of spot i in the camera frame, length 1. */
  ray(lens: Lens, i: number): Vector;
}

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
  return { count, x, y, width, height, brightest, ray: (lens, i) => toDirection(lens, x[i]!, y[i]!) };
}
