import type { Vector } from '../geometry/vector.js';
import { type Lens, toDirection } from './lens.js';

/** Detections as the search needs them, brightest first. */
export interface Spots {
  readonly count: number;
  /** Pixels. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly width: number;
  readonly height: number;
  /** Direction of spot i in the camera frame, length 1. */
  ray(lens: Lens, i: number): Vector;
}

export function makeSpots(detections: readonly { readonly x: number; readonly y: number }[], width: number, height: number): Spots {
  const count = detections.length;
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    x[i] = detections[i]!.x;
    y[i] = detections[i]!.y;
  }
  return { count, x, y, width, height, ray: (lens, i) => toDirection(lens, x[i]!, y[i]!) };
}
