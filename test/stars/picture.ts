import { readHdus } from '../../src/frames/fitsHdu.js';
import { decodePixels } from '../../src/frames/fitsPixels.js';
import type { Image } from '../../src/frames/frame.js';
import { skyFrameBytes } from '../skies.js';
import type { SkyFolder } from '../skies.js';

/** Numbers that look random and are the same in every run (the "mulberry32" mixing function). */
export function generator(seed: number): { uniform(): number; gaussian(): number } {
  let state = Math.imul(seed + 1, 0x9e3779b1) | 0;
  const uniform = (): number => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  let spare: number | null = null;
  const gaussian = (): number => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    const r = Math.sqrt(-2 * Math.log(1 - uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = r * Math.sin(angle);
    return r * Math.cos(angle);
  };
  return { uniform, gaussian };
}

/** A star to paint; its whole light in electrons. */
export interface Painted {
  readonly x: number;
  readonly y: number;
  readonly light: number;
}

export interface Scene {
  readonly width: number;
  readonly height: number;
  readonly seed: number;
  /** Electrons a pixel. */
  readonly sky: number | ((x: number, y: number) => number);
  readonly readNoise: number;
  readonly stars: readonly Painted[];
  readonly fwhm: number;
  /** Moffat exponent, Infinity = Gaussian. */
  readonly beta?: number;
  /** Long over short axis, the long one turned by `turn` from x to y. */
  readonly elongation?: number;
  readonly turn?: number;
  readonly ceiling?: number;
  /** Changes the electrons before noise: streaks, roofs. */
  readonly add?: (electrons: Float64Array) => void;
  /** Changes the finished values: hot pixels. */
  readonly spoil?: (values: Float64Array) => void;
}

/** Light in each pixel, integrated over it by up to 5 by 5 points; one electron is one unit; photon and read noise added. */
export function paint(scene: Scene): Image {
  const { width, height } = scene;
  const electrons = new Float64Array(width * height);
  const sky = scene.sky;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) electrons[y * width + x] = typeof sky === 'number' ? sky : sky(x, y);
  }
  for (const star of scene.stars) paintStar(electrons, scene, star);
  scene.add?.(electrons);
  const random = generator(scene.seed);
  const values = electrons.map((e) => e + Math.sqrt(Math.max(0, e) + scene.readNoise ** 2) * random.gaussian());
  scene.spoil?.(values);
  const ceiling = scene.ceiling ?? 65535;
  return { width, height, ceiling, data: Uint16Array.from(values, (v) => Math.max(0, Math.min(ceiling, Math.round(v)))) };
}

function paintStar(electrons: Float64Array, scene: Scene, star: Painted): void {
  const { width, height, fwhm } = scene;
  const beta = scene.beta ?? Infinity;
  const stretch = Math.sqrt(scene.elongation ?? 1);
  const cos = Math.cos(scene.turn ?? 0);
  const sin = Math.sin(scene.turn ?? 0);
  const gauss = beta === Infinity;
  const scale = gauss ? fwhm / 2.354820045 : fwhm / 2 / Math.sqrt(2 ** (1 / beta) - 1);
  const peak = gauss ? 1 / (2 * Math.PI * scale * scale) : (beta - 1) / (Math.PI * scale * scale);
  // Out to where a pixel gets a hundredth of an electron, or the profile has become flat.
  const reach = Math.ceil(Math.min(40, gauss ? 5.5 * scale * stretch + 1 : scale * Math.pow(100 * peak * star.light, 0.5 / beta) + 1));
  const near = fwhm > 6 ? 1 : fwhm > 3 ? 3 : 5;
  for (let v = Math.max(0, Math.round(star.y) - reach); v <= Math.min(height - 1, Math.round(star.y) + reach); v++) {
    for (let u = Math.max(0, Math.round(star.x) - reach); u <= Math.min(width - 1, Math.round(star.x) + reach); u++) {
      const points = Math.hypot(u - star.x, v - star.y) > 2 * fwhm ? 1 : near;
      let sum = 0;
      for (let j = 0; j < points; j++) {
        for (let i = 0; i < points; i++) {
          const dx = u - star.x + (i + 0.5) / points - 0.5;
          const dy = v - star.y + (j + 0.5) / points - 0.5;
          const a = (dx * cos + dy * sin) / stretch;
          const b = (dy * cos - dx * sin) * stretch;
          const r2 = (a * a + b * b) / (scale * scale);
          sum += gauss ? Math.exp(-r2 / 2) : Math.pow(1 + r2, -beta);
        }
      }
      electrons[v * width + u]! += (star.light * peak * sum) / points ** 2;
    }
  }
}

/** Stars on a jittered grid, so that none blend: places known to the full precision. */
export function scattered(width: number, height: number, spacing: number, seed: number, light: (u: number) => number): Painted[] {
  const random = generator(seed);
  const stars: Painted[] = [];
  for (let y = spacing; y < height - spacing; y += spacing) {
    for (let x = spacing; x < width - spacing; x += spacing) {
      stars.push({
        x: x + (random.uniform() - 0.5) * spacing * 0.4,
        y: y + (random.uniform() - 0.5) * spacing * 0.4,
        light: light(random.uniform()),
      });
    }
  }
  return stars;
}

const decoded = new Map<string, Image>();

/** A frame of testdata/skies; `name` without extension. */
export function skyImage(folder: SkyFolder, name: string): Image {
  const key = `${folder}/${name}`;
  let image = decoded.get(key);
  if (image === undefined) {
    // One plain picture of unsigned integers: testdata/skies/README.md.
    const [hdu] = readHdus(Buffer.from(skyFrameBytes(folder, `${name}.fits`)), key);
    const [width, height] = hdu!.axes as [number, number];
    image = { width, height, ...decodePixels(hdu!.data, hdu!.bitpix, { scale: 1, zero: hdu!.headers.get('BZERO') as number,
      blank: null }) };
    decoded.set(key, image);
  }
  return image;
}

/** The nearest of `places` within `radius` px, or null. */
export function nearest<T extends { readonly x: number; readonly y: number }>(
  places: readonly T[], x: number, y: number, radius: number,
): T | null {
  let best: T | null = null;
  let least = radius;
  for (const place of places) {
    const distance = Math.hypot(place.x - x, place.y - y);
    if (distance < least) {
      least = distance;
      best = place;
    }
  }
  return best;
}

export function rms(values: readonly number[]): number {
  return Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? NaN;
}
