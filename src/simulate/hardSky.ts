import type { Random } from './random.js';

/** A frame while light is added: electrons expected in each pixel, `data[y * width + x]`. */
export interface Canvas {
  readonly width: number;
  readonly height: number;
  readonly data: Float32Array;
}

/** Changes a canvas in place. `frame` counts from 0; `random` is a stream of its own for each frame. */
export type Effect = (canvas: Canvas, frame: number, random: Random) => void;

/** Difficult conditions, applied in order. */
export interface HardSky {
  /** On the stars alone, before the sky's own light is added: cloud. */
  readonly starlight?: readonly Effect[];
  /** On stars and sky together: trees, moonlight, satellites. */
  readonly light?: readonly Effect[];
}
