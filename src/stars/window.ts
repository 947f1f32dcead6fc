import type { Picture } from './picture.js';
import type { Shape, WindowSums } from './windowed.js';

/**
 * Sums under a Gaussian window of the given shape at (x, y), out to three of its sigmas.
 * Pixels that are blank or at least `ceiling` do not count. Fills `out`.
 */
export function windowSums(
  image: Picture, x: number, y: number, window: Shape, sky: number, ceiling: number, out: WindowSums,
): void {
  if (image.quick) {
    image.quick.windowSums(x, y, window, sky, ceiling, out);
    return;
  }
  const { width, height, data } = image;
  const det = window.xx * window.yy - window.xy * window.xy;
  const a = window.yy / det;
  const b = -window.xy / det;
  const c = window.xx / det;
  const reachX = 3 * Math.sqrt(window.xx);
  const reachY = 3 * Math.sqrt(window.yy);
  const left = Math.max(0, Math.ceil(x - reachX));
  const right = Math.min(width - 1, Math.floor(x + reachX));
  const top = Math.max(0, Math.ceil(y - reachY));
  const bottom = Math.min(height - 1, Math.floor(y + reachY));
  const start = left - x;
  out.looked += Math.max(0, right - left + 1) * Math.max(0, bottom - top + 1);
  let light = 0;
  let sx = 0;
  let sy = 0;
  let sxx = 0;
  let sxy = 0;
  let syy = 0;
  let weight = 0;
  let total = 0;
  // Along a row the Gaussian is a product of steps, each exp(−a) times the one before.
  const bend = Math.exp(-a);
  for (let v = top; v <= bottom; v++) {
    const dy = v - y;
    let g = Math.exp(-0.5 * (a * start * start + 2 * b * start * dy + c * dy * dy));
    let step = Math.exp(-a * (start + 0.5) - b * dy);
    const row = v * width;
    let rowLight = 0;
    let rowX = 0;
    let rowXX = 0;
    for (let u = left; u <= right; u++) {
      const value = data[row + u]!;
      if (value < ceiling && value - value === 0) {
        const w = g * (value - sky);
        const dx = u - x;
        rowLight += w;
        rowX += w * dx;
        rowXX += w * dx * dx;
        weight += g * g;
        total += g;
      }
      g *= step;
      step *= bend;
    }
    light += rowLight;
    sx += rowX;
    sxx += rowXX;
    sy += rowLight * dy;
    sxy += rowX * dy;
    syy += rowLight * dy * dy;
  }
  out.light = light;
  out.dx = sx / light;
  out.dy = sy / light;
  out.xx = sxx / light;
  out.xy = sxy / light;
  out.yy = syy / light;
  out.weight = weight;
  out.inside = total / (2 * Math.PI * Math.sqrt(det));
}
