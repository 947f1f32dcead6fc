import type { Image } from '../frames/frame.js';

/** A patch of saturated pixels that touch each other, taken as a box along its long axis. */
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

export interface BlobFinder {
  /**
   * The patch of saturated pixels at a place (within `block` px) that was not found before; 'known' where there are only patches found
   * before, null where there are none. Pixels above `lit` count as light around it.
   */
  at(x: number, y: number, block: number, lit: number): Blob | 'known' | null;
}

/** Larger patches of saturated pixels are the moon, a lamp, a lit roof. */
const largestBlob = 40_000;
/** Share of the pixels next to a saturated star that are lit; next to a piece of a hot column a quarter are, next to a hot pixel none. */
const litShare = 0.5;

/** The state of a pixel while patches are followed. */
const Seen = { not: 0, now: 1, onRim: 2, before: 3 } as const;

/**
 * Finds patches of saturated pixels, those of at least `ceiling`. However many places are asked about, each pixel belongs to one patch and
 * is followed once: of a patch too large for a star a later place gives only the rest.
 */
export function makeBlobFinder(image: Image, ceiling: number): BlobFinder {
  const { width, height, data } = image;
  // Allocated at the first saturated pixel; the system provides only the pages that are used.
  let seen: Uint8Array | null = null;
  return {
    at(x, y, block, lit) {
      if (ceiling === Infinity) return null;
      let start = -1;
      let known = false;
      const [left, right] = [Math.max(0, Math.round(x) - block), Math.min(width - 1, Math.round(x) + block)];
      for (let v = Math.max(0, Math.round(y) - block); v <= Math.min(height - 1, Math.round(y) + block) && start < 0; v++) {
        for (let i = v * width + left; i <= v * width + right && start < 0; i++) {
          if (!(data[i]! >= ceiling)) continue;
          if (seen !== null && seen[i] === Seen.before) known = true;
          else start = i;
        }
      }
      if (start < 0) return known ? 'known' : null;
      seen ??= new Uint8Array(width * height);
      const patch = follow(image, ceiling, start, seen);
      let bright = 0;
      for (const i of patch.rim) if (data[i]! > lit) bright++;
      return blobOf(patch, width, bright >= litShare * patch.rim.length);
    },
  };
}

interface Patch {
  readonly pixels: readonly number[];
  /** Neighbours that are not saturated, each once. */
  readonly rim: readonly number[];
  /** Pixels at the front of the list that were looked around; less than all where the patch is too large. */
  readonly done: number;
  /** It continues where it was followed before, or touches the frame's edge. */
  readonly cut: boolean;
  /** Sums of u, v, u², uv, v² over the pixels looked around. */
  readonly sums: readonly [number, number, number, number, number];
}

function follow({ width, height, data }: Image, ceiling: number, start: number, seen: Uint8Array): Patch {
  const pixels = [start];
  const rim: number[] = [];
  const waiting = [start];
  let cut = false;
  let [sx, sy, sxx, sxy, syy] = [0, 0, 0, 0, 0];
  seen[start] = Seen.now;
  while (waiting.length > 0 && pixels.length < largestBlob) {
    const i = waiting.pop()!;
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
        if (seen[j] === Seen.before) cut = true;
        if (seen[j] !== Seen.not) continue;
        const saturated = data[j]! >= ceiling;
        seen[j] = saturated ? Seen.now : Seen.onRim;
        if (saturated) {
          pixels.push(j);
          waiting.push(j);
        } else rim.push(j);
      }
    }
  }
  for (const j of rim) seen[j] = Seen.not;
  for (const j of pixels) seen[j] = Seen.before;
  return { pixels, rim, done: pixels.length - waiting.length, cut, sums: [sx, sy, sxx, sxy, syy] };
}

function blobOf({ pixels, done: n, cut, sums: [sx, sy, sxx, sxy, syy] }: Patch, width: number, litAround: boolean): Blob {
  const mx = sx / n;
  const my = sy / n;
  // A pixel has a width of its own.
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
  for (const i of pixels) {
    const dx = (i % width) - mx;
    const dy = Math.floor(i / width) - my;
    radius = Math.max(radius, Math.hypot(dx, dy));
    halfWidth = Math.max(halfWidth, Math.abs(dx * along.y - dy * along.x));
  }
  const whole = !cut && n === pixels.length && elongation < 4 && litAround;
  return { x: mx, y: my, radius: radius + 0.5, elongation, along, halfWidth: halfWidth + 0.5, whole };
}
