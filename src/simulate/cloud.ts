import type { Effect } from './hardSky.js';
import type { Random } from './random.js';

/**
 * Ragged cloud that dims stars, different in each frame; for `HardSky.starlight`.
 *
 * @param cover share of the frame that is clouded, 0 to 1; true on average over frames much larger than a patch
 * @param magnitudes dimming in the thickest part
 * @param patchPixels size of a patch
 */
export function cloud(cover: number, magnitudes: number, patchPixels: number): Effect {
  return (canvas, _frame, random) => {
    const { width, height, data } = canvas;
    const lumps = lattice(width, height, patchPixels, random);
    // The threshold that leaves `cover` of the field below it, from a sample.
    const sample: number[] = [];
    for (let y = 0; y < height; y += 5) for (let x = 0; x < width; x += 5) sample.push(lumps(x, y));
    sample.sort((a, b) => a - b);
    const threshold = cover >= 1 ? Infinity : cover <= 0 ? -Infinity : sample[Math.floor(cover * sample.length)]!;
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        // A soft edge, a tenth of the field's range wide.
        const depth = Math.min(1, Math.max(0, (threshold - lumps(x, y)) * 10 + 0.5));
        if (depth > 0) data[y * width + x]! *= Math.pow(10, -0.4 * magnitudes * depth);
      }
    }
  };
}

/** A smooth random field, 0 to 1: values on a lattice, interpolated smoothly. */
function lattice(width: number, height: number, cell: number, random: Random): (x: number, y: number) => number {
  const columns = Math.ceil(width / cell) + 2;
  const rows = Math.ceil(height / cell) + 2;
  const values = Float32Array.from({ length: columns * rows }, () => random.uniform());
  const ease = (t: number): number => t * t * (3 - 2 * t);
  return (x, y) => {
    const i = Math.floor(x / cell);
    const j = Math.floor(y / cell);
    const s = ease(x / cell - i);
    const t = ease(y / cell - j);
    const at = j * columns + i;
    const top = values[at]! * (1 - s) + values[at + 1]! * s;
    const bottom = values[at + columns]! * (1 - s) + values[at + columns + 1]! * s;
    return top * (1 - t) + bottom * t;
  };
}
