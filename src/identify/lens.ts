import type { Vector } from '../geometry/vector.js';

/**
 * How directions in the camera become pixels: gnomonic projection with radial and tangential distortion (Brown 1971, Photogrammetric
 * Engineering 37, 855).
 * Camera frame: z forward, x along the rows, y down the columns as stored; right-handed for a picture that looks like the sky.
 * An odd number of mirrors (or a file stored upside down) makes x point the other way: `mirrored`.
 */
export interface Lens {
  /** Focal length in pixels; > 0. Image scale at the centre is 206265 / focalPixels ″ per pixel. */
  readonly focalPixels: number;
  /** Principal point, pixels. */
  readonly centreX: number;
  readonly centreY: number;
  /** Distortion: r = f·t·(1 + k1·t² + k2·t⁴ + …), t = tan(angle off axis). */
  readonly radial: readonly number[];
  /**
   * What lens elements beside the axis add, in focal lengths: t²·p + 2·u·(u·p), with u = (tan across, tan down) and t² = u·u. Good
   * lenses have some 1e-4. Absent: none. A sensor that is not square to the axis shows as a principal point far from the middle.
   */
  readonly tangential?: Tangential;
  readonly mirrored: boolean;
}

export type Tangential = readonly [number, number];

/** Pixel of a direction in the camera frame (any length), or null where it lies behind the camera. */
export function toPixel(lens: Lens, direction: Vector): { x: number; y: number } | null {
  if (direction[2] <= 0) return null;
  const u = direction[0] / direction[2];
  const v = direction[1] / direction[2];
  const factor = stretch(lens.radial, u * u + v * v);
  const [du, dv] = decentred(lens.tangential, u, v);
  const x = u * factor + du;
  return { x: lens.centreX + (lens.mirrored ? -x : x) * lens.focalPixels, y: lens.centreY + (v * factor + dv) * lens.focalPixels };
}

/** The tangential terms at (u, v). */
function decentred(tangential: Tangential | undefined, u: number, v: number): readonly [number, number] {
  if (!tangential) return NOTHING;
  const [a, b] = tangential;
  const s = u * u + v * v, along = 2 * (a * u + b * v);
  return [s * a + along * u, s * b + along * v];
}

const NOTHING = [0, 0] as const;
/** Passes of {@link toDirection} for the tangential terms: each leaves some thousandths of the error before it. */
const PASSES = 12;

/** Direction (length 1) in the camera frame of a pixel; the inverse of {@link toPixel}. */
export function toDirection(lens: Lens, x: number, y: number): Vector {
  const px = (x - lens.centreX) / lens.focalPixels;
  const u0 = lens.mirrored ? -px : px;
  const v0 = (y - lens.centreY) / lens.focalPixels;
  let [u, v] = withoutRadial(lens.radial, u0, v0);
  for (let pass = 0; lens.tangential && pass < PASSES; pass++) {
    const [du, dv] = decentred(lens.tangential, u, v);
    const next = withoutRadial(lens.radial, u0 - du, v0 - dv);
    const step = Math.abs(next[0] - u) + Math.abs(next[1] - v);
    [u, v] = next;
    if (step < 1e-15) break;
  }
  const length = Math.hypot(u, v, 1);
  return [u / length, v / length, 1 / length];
}

function withoutRadial(radial: readonly number[], u: number, v: number): readonly [number, number] {
  const r = Math.hypot(u, v);
  const factor = r > 0 ? undistort(radial, r) / r : 1;
  return [u * factor, v * factor];
}

/** 1 + k1·s + k2·s² + … with s = tan² of the angle off axis. */
export function stretch(radial: readonly number[], s: number): number {
  let sum = 0;
  for (let i = radial.length - 1; i >= 0; i--) sum = (sum + (radial[i] ?? 0)) * s;
  return 1 + sum;
}

/** tan(angle off axis) whose distorted radius (in focal lengths) is r, by Newton's method from r. */
function undistort(radial: readonly number[], r: number): number {
  if (radial.length === 0) return r;
  let t = r;
  for (let i = 0; i < 20; i++) {
    const step = (t * stretch(radial, t * t) - r) / Math.max(slope(radial, t), 0.1);
    t -= step;
    if (Math.abs(step) < 1e-14) return t;
  }
  return Math.abs(t * stretch(radial, t * t) - r) < 1e-9 ? t : onNearSide(radial, r);
}

/** ∂(distorted radius)/∂t */
function slope(radial: readonly number[], t: number): number {
  let sum = 1;
  let power = 1;
  for (let k = 0; k < radial.length; k++) {
    power *= t * t;
    sum += (2 * k + 3) * (radial[k] ?? 0) * power;
  }
  return sum;
}

/**
 * The same where Newton's method fails: strong negative distortion folds the picture back at some radius. On the near side
 * of the fold by bisection; beyond it, where nothing is shown, the fold itself.
 */
function onNearSide(radial: readonly number[], r: number): number {
  let high = 0;
  for (let n = 1; n <= 256 && slope(radial, (n * r) / 64) > 0; n++) high = (n * r) / 64;
  let low = 0;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (middle * stretch(radial, middle * middle) < r) low = middle;
    else high = middle;
  }
  return low;
}
