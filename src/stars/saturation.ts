import type { Image } from '../frames/frame.js';
import type { Background } from './background.js';
import { meshAt, noiseAt } from './background.js';
import type { Candidates } from './candidates.js';

/**
 * The value from which pixels count as saturated. The format's ceiling, or lower where the frame shows it: the brightest
 * candidates have tops of three or more pixels all at one greatest value. Infinity where neither is known.
 */
export function findSaturation(image: Image, mesh: Background, candidates: Candidates): number {
  const { width, height, data } = image;
  const given = image.ceiling ?? Infinity;
  const reach = 3;
  const tries = Math.min(candidates.count, 100);
  let top = -Infinity;
  for (let k = 0; k < tries; k++) {
    forSquare(candidates.x[k]!, candidates.y[k]!, reach, width, height, (i) => {
      const value = data[i]!;
      if (value > top && value < Infinity) top = value;
    });
  }
  if (top === -Infinity) return given;
  for (let k = 0; k < tries; k++) {
    const x = candidates.x[k]!;
    const y = candidates.y[k]!;
    const sky = meshAt(mesh, mesh.level, x, y);
    if (top - sky < 50 * noiseAt(mesh, x, y)) continue;
    // Light that falls on three pixels alike to a two-thousandth did not come out of a lens.
    const level = top - (top - sky) / 2000;
    let flat = 0;
    forSquare(x, y, reach, width, height, (i) => {
      if (data[i]! >= level) flat++;
    });
    if (flat >= 3) return Math.min(given, level);
  }
  return given;
}

function forSquare(x: number, y: number, reach: number, width: number, height: number, visit: (index: number) => void): void {
  const cx = Math.round(x);
  const cy = Math.round(y);
  for (let v = Math.max(0, cy - reach); v <= Math.min(height - 1, cy + reach); v++) {
    for (let u = Math.max(0, cx - reach); u <= Math.min(width - 1, cx + reach); u++) visit(v * width + u);
  }
}

export interface Blob {
  readonly x: number;
  readonly y: number;
  /** Distance of the farthest saturated pixel from the middle, px. */
  readonly radius: number;
  readonly elongation: number;
  /** Unit vector along its long axis, and the distance of the farthest saturated pixel from that axis, px. */
  readonly along: { readonly x: number; readonly y: number };
  readonly halfWidth: number;
  /** False where it is too large or too long to be a star, cut by the frame's edge, or has no light around it. */
  readonly whole: boolean;
}

/** Whether a place lies on a blob or within `margin` px of it, the blob taken as an upright box along its long axis. */
export function isOnBlob({ x, y, along, radius, halfWidth }: Blob, u: number, v: number, margin: number): boolean {
  const [dx, dy] = [u - x, v - y];
  return Math.abs(dx * along.x + dy * along.y) < radius + margin && Math.abs(dx * along.y - dy * along.x) < halfWidth + margin;
}

/** Larger patches of saturated pixels are the moon, a lamp, a lit roof. */
const largestBlob = 40_000;

/** Share of the pixels next to a saturated star that are lit; next to a piece of a hot column a quarter are, next to a hot pixel none. */
const litShare = 0.5;

/**
 * The patch of connected saturated pixels at a place (within `block` px), or null where there is none. Pixels above `lit` count as
 * light around it.
 */
export function saturatedBlob(image: Image, x: number, y: number, block: number, ceiling: number, lit: number): Blob | null {
  const { width, height, data } = image;
  let start = -1;
  if (ceiling < Infinity) {
    forSquare(x, y, block, width, height, (i) => {
      if (start < 0 && data[i]! >= ceiling) start = i;
    });
  }
  if (start < 0) return null;
  const seen = new Set([start]);
  const rim = new Set<number>();
  const queue = [start];
  let sx = 0;
  let sy = 0;
  let sxx = 0;
  let sxy = 0;
  let syy = 0;
  let cut = false;
  while (queue.length > 0 && seen.size < largestBlob) {
    const i = queue.pop()!;
    const u = i % width;
    const v = (i - u) / width;
    sx += u;
    sy += v;
    sxx += u * u;
    sxy += u * v;
    syy += v * v;
    if (u === 0 || v === 0 || u === width - 1 || v === height - 1) cut = true;
    for (let b = Math.max(0, v - 1); b <= Math.min(height - 1, v + 1); b++) {
      for (let a = Math.max(0, u - 1); a <= Math.min(width - 1, u + 1); a++) {
        const j = b * width + a;
        if (!(data[j]! >= ceiling)) {
          rim.add(j);
        } else if (!seen.has(j)) {
          seen.add(j);
          queue.push(j);
        }
      }
    }
  }
  const n = seen.size - queue.length;
  const mx = sx / n;
  const my = sy / n;
  // Pixels have a width of their own.
  const vx = sxx / n - mx * mx + 1 / 12;
  const vy = syy / n - my * my + 1 / 12;
  const vxy = sxy / n - mx * my;
  const mean = (vx + vy) / 2;
  const half = Math.hypot((vx - vy) / 2, vxy);
  const elongation = Math.sqrt((mean + half) / Math.max(mean - half, 1 / 12));
  const direction = 0.5 * Math.atan2(2 * vxy, vx - vy);
  const along = { x: Math.cos(direction), y: Math.sin(direction) };
  let radius = 0;
  let halfWidth = 0;
  for (const i of seen) {
    const dx = (i % width) - mx;
    const dy = Math.floor(i / width) - my;
    radius = Math.max(radius, Math.hypot(dx, dy));
    halfWidth = Math.max(halfWidth, Math.abs(dx * along.y - dy * along.x));
  }
  let bright = 0;
  for (const i of rim) if (data[i]! > lit) bright++;
  const whole = !cut && queue.length === 0 && elongation < 4 && bright >= litShare * rim.size;
  return { x: mx, y: my, radius: radius + 0.5, elongation, along, halfWidth: halfWidth + 0.5, whole };
}
