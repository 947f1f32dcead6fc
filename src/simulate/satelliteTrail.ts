import type { Effect } from './hardSky.js';

/**
 * A straight streak across each frame, at a different place in each; for `HardSky.light`.
 *
 * @param electrons at its crest, in each pixel
 * @param fwhm across, pixels
 */
export function satelliteTrail(electrons: number, fwhm: number): Effect {
  return (canvas, _frame, random) => {
    const { width, height, data } = canvas;
    const direction = Math.PI * random.uniform();
    const c = Math.cos(direction);
    const s = Math.sin(direction);
    const x0 = width * (0.2 + 0.6 * random.uniform());
    const y0 = height * (0.2 + 0.6 * random.uniform());
    const sigma = fwhm / Math.sqrt(8 * Math.LN2);
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const across = ((x - x0) * s - (y - y0) * c) / sigma;
        if (Math.abs(across) < 6) data[y * width + x]! += electrons * Math.exp(-0.5 * across * across);
      }
    }
  };
}
