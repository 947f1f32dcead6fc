import type { Background } from './background.js';
import { skyAt } from './background.js';
import type { Candidates } from './candidates.js';
import type { Picture, PlacedShape } from './picture.js';
import { quantile } from './quantile.js';
import { windowSums } from './window.js';
import { type Shape, type WindowSums, emptySums } from './windowed.js';

/** Full width at half maximum over sigma, of a Gaussian. */
export const fwhmPerSigma = 2 * Math.sqrt(2 * Math.LN2);

/** FWHM of a Gaussian of these second moments, px, the geometric mean of long and short axis. */
export function fwhmOf(shape: Shape): number {
  return fwhmPerSigma * Math.pow(shape.xx * shape.yy - shape.xy * shape.xy, 0.25);
}

/** Variances along the long and the short axis, px². */
export function axesOf(shape: Shape): { long: number; short: number } {
  const mean = (shape.xx + shape.yy) / 2;
  const half = Math.hypot((shape.xx - shape.yy) / 2, shape.xy);
  return { long: mean + half, short: mean - half };
}

/** Sum of a star's eight neighbours over its brightest pixel, below which it is a lone hot pixel: at FWHM 1.2 it is 1.2. */
const leastWings = 0.5;

/** The most pixels looked at in the search for it: ten times what a hundred badly defocused stars take. */
const mostLooked = 5e7;

/**
 * The common shape of a frame's stars as the second moments of the best-matching Gaussian: of the brightest candidates
 * that are neither saturated nor lone pixels, those about the commonest size decide. Null where no three agree.
 * Adaptive moments: Bernstein & Jarvis 2002, AJ 123, 583.
 */
export function commonShape(image: Picture, mesh: Background, candidates: Candidates, ceiling: number, start: number): Shape | null {
  const found: PlacedShape[] = [];
  const sums = emptySums();
  // Where bad columns or a lamp's glare fill the top of the list, the stars come later.
  for (let k = 0; k < candidates.count && found.length < 120 && (k < 400 || (found.length < 20 && k < 4000)); k++) {
    if (candidates.height[k]! < 8 || sums.looked > mostLooked) break;
    const shape = adaptiveShape(image, mesh, candidates.x[k]!, candidates.y[k]!, ceiling, start, sums);
    // A disc of stray light has many tops and one shape.
    const known = shape !== null && found.some((other) => Math.hypot(other.x - shape.x, other.y - shape.y) < 0.5 * fwhmOf(other));
    if (shape !== null && !known) found.push(shape);
  }
  if (found.length < 3) return null;
  const sizes = Float64Array.from(found, (shape) => Math.log(fwhmOf(shape))).sort();
  const mode = halfSampleMode(sizes);
  const typical = found.filter((shape) => Math.abs(Math.log(fwhmOf(shape)) - mode) < 0.2);
  if (typical.length < 3) return null;
  const median = (pick: (shape: Shape) => number): number =>
    quantile(Float64Array.from(typical, pick), typical.length, 0.5);
  return { xx: median((s) => s.xx), xy: median((s) => s.xy), yy: median((s) => s.yy) };
}

/** Second moments of the Gaussian that matches the light around a place best, or null where there is no star. */
export function adaptiveShape(
  image: Picture, mesh: Background, x0: number, y0: number, ceiling: number, start: number, sums: WindowSums,
): PlacedShape | null {
  const sky = skyAt(image, mesh, x0, y0);
  const found = image.quick ? image.quick.adaptiveMoments(x0, y0, start, sky, sums) : adaptiveMoments(image, x0, y0, start, sky, sums);
  return found === null || isLonePixel(image, found.x, found.y, sky, ceiling) ? null : found;
}

function adaptiveMoments(image: Picture, x0: number, y0: number, start: number, sky: number, sums: WindowSums): PlacedShape | null {
  let x = x0;
  let y = y0;
  let shape: Shape = { xx: start * start, xy: 0, yy: start * start };
  for (let round = 0; round < 30; round++) {
    windowSums(image, x, y, shape, sky, Infinity, sums);
    if (!(sums.light > 0) || sums.inside < 0.9) return null;
    // The window times a Gaussian star has the moments (P⁻¹ + W⁻¹)⁻¹; solve for the star's P.
    const mx = sums.xx - sums.dx * sums.dx;
    const my = sums.yy - sums.dy * sums.dy;
    const mxy = sums.xy - sums.dx * sums.dy;
    const dm = mx * my - mxy * mxy;
    const dw = shape.xx * shape.yy - shape.xy * shape.xy;
    if (!(dm > 0)) return null;
    const a = my / dm - shape.yy / dw;
    const b = -mxy / dm + shape.xy / dw;
    const c = mx / dm - shape.xx / dw;
    const det = a * c - b * b;
    let next: Shape;
    if (a > 0 && c > 0 && det > 0) next = { xx: c / det, xy: -b / det, yy: a / det };
    else next = { xx: shape.xx * 4, xy: shape.xy * 4, yy: shape.yy * 4 };
    // Grow at most twofold at a time: noise may hide the far side at first.
    const ratio = Math.pow(next.xx * next.yy - next.xy * next.xy, 0.25) / Math.pow(shape.xx * shape.yy - shape.xy * shape.xy, 0.25);
    if (ratio > 2) {
      const f = 4 / (ratio * ratio);
      next = { xx: next.xx * f, xy: next.xy * f, yy: next.yy * f };
    }
    x += 2 * Math.max(-start, Math.min(start, sums.dx));
    y += 2 * Math.max(-start, Math.min(start, sums.dy));
    const { long, short } = axesOf(next);
    if (!(short > 0.04) || long > 900 || Math.hypot(x - x0, y - y0) > 4 * start + Math.sqrt(long)) return null;
    const settled = Math.abs(Math.log(ratio)) < 1e-3;
    shape = next;
    if (settled) break;
  }
  return { ...shape, x, y };
}

/** True where all the light sits in one pixel, or where a pixel near the centre is saturated. */
function isLonePixel(image: Picture, x: number, y: number, sky: number, ceiling: number): boolean {
  const { width, height, data } = image;
  const cx = Math.round(x);
  const cy = Math.round(y);
  if (cx < 2 || cy < 2 || cx > width - 3 || cy > height - 3) return true;
  let peak = -Infinity;
  let px = cx;
  let py = cy;
  for (let v = cy - 1; v <= cy + 1; v++) {
    for (let u = cx - 1; u <= cx + 1; u++) {
      const value = data[v * width + u]!;
      if (value > peak) {
        peak = value;
        px = u;
        py = v;
      }
    }
  }
  if (!(peak < ceiling)) return true;
  let wings = 0;
  for (let v = py - 1; v <= py + 1; v++) {
    for (let u = px - 1; u <= px + 1; u++) if (u !== px || v !== py) wings += data[v * width + u]! - sky;
  }
  return !(wings > leastWings * (peak - sky));
}

/** The densest place among sorted values (Bickel & Frühwirth 2006, CSDA 50, 3500): halves the sample repeatedly. */
function halfSampleMode(sorted: Float64Array): number {
  let lo = 0;
  let n = sorted.length;
  while (n > 3) {
    const half = Math.ceil(n / 2);
    let best = Infinity;
    let at = lo;
    for (let i = lo; i + half <= lo + n; i++) {
      const range = sorted[i + half - 1]! - sorted[i]!;
      if (range < best) {
        best = range;
        at = i;
      }
    }
    lo = at;
    n = half;
  }
  return sorted[lo + (n >> 1)]!;
}
