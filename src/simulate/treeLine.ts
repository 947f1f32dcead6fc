import type { Effect } from './hardSky.js';

/**
 * A jagged black edge in front of part of the frame, the same in all frames; for `HardSky.light`.
 *
 * @param share of the frame's height that it covers on average, from the last stored row up, 0 to 1
 * @param roughness how far twigs stick out, pixels
 * @param brightness of the trees relative to the sky behind, 0 to 1
 */
export function treeLine(share: number, roughness: number, brightness: number, seed: number): Effect {
  return (canvas) => {
    const { width, height, data } = canvas;
    for (let x = 0; x < width; x++) {
      const top = Math.round(height * (1 - share) + roughness * skyline(x, seed));
      for (let y = Math.max(0, top); y < height; y++) data[y * width + x]! *= brightness;
    }
  };
}

/** A curve with detail at all sizes down to single pixels, about -1 to 1: waves with phases from the seed. */
function skyline(x: number, seed: number): number {
  let sum = 0;
  for (let octave = 0; octave < 8; octave++) {
    const wavelength = 400 / 2 ** octave;
    sum += Math.sin((2 * Math.PI * x) / wavelength + seed * (octave + 1) * 1.7) / 1.5 ** octave;
  }
  return sum / 2;
}
