import { expect } from 'vitest';
import type { Frame } from '../../src/frames/frame.js';
import { detectStars } from '../../src/stars/detectStars.js';
import { generator } from '../axis/sightings.js';

export interface StrewnMosaic {
  readonly width: number;
  readonly height: number;
  readonly data: Uint16Array;
  readonly stars: readonly { readonly x: number; readonly y: number }[];
}

/** Sigma of the stars, px. */
const SIGMA = 1.6;
/** What the filters pass of the sky (a greenish one), and of stars from red to blue. */
const SKY = [0.5, 1, 0.7] as const;
const STARS = [[1.6, 1, 0.4], [1, 1, 1], [0.4, 0.9, 1.7]] as const;

/**
 * An invented mosaic picture with stars of three colours at known places. `pattern` names the colours of the repeating cell row by row
 * (0 red, 1 green, 2 blue), `side` its side; `left` and `top` are columns and rows before the picture's first that belong to the pattern.
 */
export function strewnMosaic(pattern: readonly number[], side = 2, left = 0, top = 0, seed = 1): StrewnMosaic {
  const [width, height] = [420, 300];
  const { uniform, normal } = generator(seed);
  const colour = (x: number, y: number): number => pattern[((y + top) % side) * side + ((x + left) % side)] as number;
  const light = Float64Array.from({ length: width * height }, (_, i) => 800 * (SKY[colour(i % width, Math.floor(i / width))] as number));
  const stars = [];
  for (let row = 0; row < 8; row++) {
    for (let column = 0; column < 12; column++) {
      const star = { x: 28 + 33 * column + 6 * uniform(), y: 24 + 34 * row + 6 * uniform() };
      stars.push(star);
      const tint = STARS[Math.floor(3 * uniform())] as readonly number[];
      for (let y = Math.floor(star.y) - 9; y <= star.y + 10; y++) {
        for (let x = Math.floor(star.x) - 9; x <= star.x + 10; x++) {
          light[y * width + x]! += 9000 * (tint[colour(x, y)] as number) * Math.exp(-((x - star.x) ** 2
            + (y - star.y) ** 2) / (2 * SIGMA ** 2));
        }
      }
    }
  }
  return { width, height, stars, data: Uint16Array.from(light, (value) => Math.round(value + 20 * normal())) };
}

/** The stars found in a frame lie where they were put, in pixels of the stored picture, and on average without any shift. */
export function expectInPlace(frame: Frame, { width, height, stars }: StrewnMosaic): void {
  expect([frame.image.width, frame.image.height]).toEqual([width, height]);
  const found = detectStars(frame.image).stars.map(({ x, y }) => ({ x: x + frame.pixelOffset, y: y + frame.pixelOffset }));
  let [dx, dy, worst] = [0, 0, 0];
  for (const star of stars) {
    const nearest = found.reduce((a, b) => (Math.hypot(a.x - star.x, a.y - star.y) <= Math.hypot(b.x - star.x, b.y - star.y) ? a : b));
    dx += (nearest.x - star.x) / stars.length;
    dy += (nearest.y - star.y) / stars.length;
    worst = Math.max(worst, Math.hypot(nearest.x - star.x, nearest.y - star.y));
  }
  // Photon noise aside, 20 a pixel under stars of 9000 makes 0.01 px for each (King 1983), a tenth of it for the mean of 96.
  expect(Math.abs(dx)).toBeLessThan(0.005);
  expect(Math.abs(dy)).toBeLessThan(0.005);
  expect(worst).toBeLessThan(0.06);
}
