import type { Effect } from './hardSky.js';

/**
 * Light from outside the frame; for `HardSky.light`.
 *
 * @param electrons added to each pixel at the brightest corner; falls to a third across the frame
 * @param directionDeg toward the brightest side, from x toward y
 */
export function moonlight(electrons: number, directionDeg: number): Effect {
  return (canvas) => {
    const { width, height, data } = canvas;
    const c = Math.cos((directionDeg * Math.PI) / 180);
    const s = Math.sin((directionDeg * Math.PI) / 180);
    const half = (Math.abs(c) * width + Math.abs(s) * height) / 2;
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const along = ((x - width / 2) * c + (y - height / 2) * s) / half;
        data[y * width + x]! += electrons * Math.pow(3, (along - 1) / 2);
      }
    }
  };
}
