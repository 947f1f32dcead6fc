import { describe, expect, it } from 'vitest';
import type { Canvas, Effect } from '../../src/simulate/hardSky.js';
import { cloud } from '../../src/simulate/cloud.js';
import { moonlight } from '../../src/simulate/moonlight.js';
import { makeRandom } from '../../src/simulate/random.js';
import { satelliteTrail } from '../../src/simulate/satelliteTrail.js';
import { treeLine } from '../../src/simulate/treeLine.js';

/** What an effect makes of an even picture. */
function on(effect: Effect, level: number, seed = 1, frame = 0): Canvas {
  const canvas = { width: 400, height: 300, data: new Float32Array(400 * 300).fill(level) };
  effect(canvas, frame, makeRandom(seed));
  return canvas;
}

function share(canvas: Canvas, test: (value: number) => boolean): number {
  return canvas.data.filter(test).length / canvas.data.length;
}

function same(a: Canvas, b: Canvas): boolean {
  return a.data.every((value, i) => value === b.data[i]);
}

describe('hard skies', () => {
  it('cloud covers the share asked for, dims by the magnitudes asked for, and differs from frame to frame', () => {
    for (const cover of [0.2, 0.5, 0.8]) {
      const clouded = on(cloud(cover, 5, 60), 100);
      expect(Math.abs(share(clouded, (value) => value < 100 * 10 ** -1) - cover)).toBeLessThan(0.05);
      expect(Math.min(...clouded.data)).toBeCloseTo(1, 4);
    }
    expect(on(cloud(0, 5, 60), 100).data.every((value) => value === 100)).toBe(true);
    expect(share(on(cloud(1, 5, 60), 100), (value) => value < 1.01)).toBe(1);
    expect(same(on(cloud(0.5, 5, 60), 100, 1), on(cloud(0.5, 5, 60), 100, 2))).toBe(false);
  });

  it('a tree line hides the last rows, jagged, the same in all frames', () => {
    const trees = on(treeLine(0.4, 10, 0.1, 3), 50);
    expect(Math.abs(share(trees, (value) => value < 10) - 0.4)).toBeLessThan(0.05);
    expect(trees.data.subarray(0, 400 * 100).every((value) => value === 50)).toBe(true);
    expect(trees.data.subarray(400 * 280).every((value) => Math.abs(value - 5) < 1e-5)).toBe(true);
    expect(same(on(treeLine(0.4, 10, 0.1, 3), 50, 9, 2), trees)).toBe(true);
  });

  it('a satellite leaves one narrow streak of the height asked for', () => {
    const streak = on(satelliteTrail(80, 3), 0);
    expect(Math.max(...streak.data)).toBeGreaterThan(75);
    expect(Math.max(...streak.data)).toBeLessThanOrEqual(80);
    const crossed = share(streak, (value) => value > 40);
    // Three pixels wide, at least a fifth of the picture's height long and at most its diagonal.
    expect(crossed).toBeGreaterThan((3 * 60) / 120000 / 2);
    expect(crossed).toBeLessThan((3 * 500) / 120000 * 1.2);
  });

  it('moonlight falls to a third across the frame', () => {
    const lit = on(moonlight(90, 0), 0);
    expect(lit.data[399]).toBeCloseTo(90, -0.5);
    expect(lit.data[0]).toBeCloseTo(30, 0);
  });
});
