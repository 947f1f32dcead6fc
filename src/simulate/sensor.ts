import type { Canvas } from './hardSky.js';
import type { NightPlan } from './nightPlan.js';
import { type Random, smallPoisson } from './random.js';

/** Fewer electrons than this are counted one by one; for more, a normal number with Poisson's skewness is used. */
const COUNTED_BELOW = 8;

/**
 * The value that the camera stores for the expected electrons: photon noise, read noise, full well, gain, bias, rounding, ceiling. `random`
 * null = no noise (and no rounding error beyond that of the stored integers).
 */
export function exposeSensor(canvas: Canvas, plan: NightPlan, random: Random | null): Uint16Array {
  const { data, width, height } = canvas;
  const stored = new Uint16Array(width * height);
  const { readNoise, fullWell, biasAdu } = plan;
  const ceiling = Math.min(65535, plan.ceilingAdu);
  const readVariance = readNoise * readNoise;
  const perElectron = 1 / plan.electronsPerAdu;
  const normals = new Float32Array(width);
  for (let y = 0; y < height; y++) {
    const row = y * width;
    random?.normals(normals);
    for (let x = 0; x < width; x++) {
      let electrons = data[row + x]!;
      if (random) {
        const z = normals[x]!;
        if (electrons >= COUNTED_BELOW) {
          const variance = electrons + readVariance;
          electrons += Math.sqrt(variance) * z + (electrons / variance) * ((z * z - 1) / 6);
        } else {
          electrons = smallPoisson(electrons, random.uniform()) + readNoise * z;
        }
      }
      if (electrons > fullWell) electrons = fullWell;
      const value = Math.floor(electrons * perElectron + biasAdu + 0.5);
      stored[row + x] = value < 0 ? 0 : value > ceiling ? ceiling : value;
    }
  }
  return stored;
}

/** Light lost toward the corners. */
export function vignette(canvas: Canvas, lostInCorner: number): void {
  if (lostInCorner === 0) return;
  const { data, width, height } = canvas;
  const cx = (width - 1) / 2;
  const cy = (height - 1) / 2;
  const perSquare = lostInCorner / (cx * cx + cy * cy || 1);
  for (let y = 0; y < height; y++) {
    const dy2 = (y - cy) * (y - cy);
    for (let x = 0; x < width; x++) data[y * width + x]! *= 1 - perSquare * ((x - cx) * (x - cx) + dy2);
  }
}

/** Adds hot pixels: the same in each frame when `random` starts the same. */
export function addHotPixels(canvas: Canvas, plan: NightPlan, random: Random): void {
  const { data } = canvas;
  const count = random.poisson((data.length * plan.hotPixelsPerMillion) / 1e6);
  for (let i = 0; i < count; i++) {
    const at = Math.floor(random.uniform() * data.length);
    // From a little above the sky to a third of the well, uniform in magnitude.
    data[at]! += 100 * Math.pow(Math.max(1, plan.fullWell / 300), random.uniform());
  }
}
