import { describe, expect, it } from 'vitest';
import { type Place, matchFields } from '../../src/run/matchFields.js';
import { registerField } from '../../src/run/registerField.js';
import { makeRandom } from '../../src/simulate/random.js';

const WIDTH = 1600, HEIGHT = 1100;

/** Invented stars strewn over a wider area, brightest first. */
function strewn(count: number, seed: number): { x: number; y: number }[] {
  const random = makeRandom(`strewn ${seed}`);
  return Array.from({ length: count }, () => ({ x: (random.uniform() * 2 - 0.5) * WIDTH, y: (random.uniform() * 2 - 0.5) * HEIGHT }));
}

/** As a frame shows them: turned about its middle and shifted, with errors; some missed, some spots that are no stars. */
function seen(
  stars: readonly { x: number; y: number }[], turn: number, dx: number, dy: number, seed: number, missed = 0.1,
  keep: (p: Place) => boolean = () => true,
): Place[] {
  const random = makeRandom(`seen ${seed}`);
  const c = Math.cos(turn), s = Math.sin(turn);
  const out: Place[] = [];
  for (const star of stars) {
    const u = star.x - (WIDTH - 1) / 2, v = star.y - (HEIGHT - 1) / 2;
    const p = {
      x: (WIDTH - 1) / 2 + dx + c * u - s * v + 0.1 * random.normal(), y: (HEIGHT - 1) / 2 + dy + s * u + c * v + 0.1 * random.normal(),
      sigma: 0.1,
    };
    if (random.uniform() < missed) out.push({ x: random.uniform() * WIDTH, y: random.uniform() * HEIGHT, sigma: 0.1 });
    else if (p.x > 0 && p.y > 0 && p.x < WIDTH && p.y < HEIGHT && keep(p)) out.push(p);
  }
  return out;
}

describe('matchFields', () => {
  it.each([[20, 0, 0, 0], [200, 0.001, 35, -12], [3000, 0.2, 300, 250], [60, Math.PI, 20, 5], [400, -2.1, -500, 90]])(
    'finds %i stars turned by %d and shifted by %d, %d px', (count, turn, dx, dy) => {
      const stars = strewn(4 * count, count);
      const match = matchFields(seen(stars, 0, 0, 0, 1), seen(stars, turn, dx, dy, 2), WIDTH, HEIGHT)!;
      expect(Math.abs(match.fit.shiftX - dx)).toBeLessThan(0.3);
      expect(Math.abs(match.fit.shiftY - dy)).toBeLessThan(0.3);
      expect(Math.abs(Math.sin(match.fit.rotation - turn))).toBeLessThan(4e-4);
    });

  it('five stars are enough where nothing else is there', () => {
    const stars = [[300, 200], [1200, 250], [800, 700], [350, 900], [1300, 950]].map(([x, y]) => ({ x: x!, y: y! }));
    const match = matchFields(seen(stars, 0, 0, 0, 1, 0), seen(stars, 0.01, 40, -30, 2, 0), WIDTH, HEIGHT)!;
    expect(match.from).toHaveLength(5);
    expect(match.fit.shiftX).toBeCloseTo(40, 0);
  });

  it('a cloud over four fifths of one frame does not hide the rest', () => {
    const stars = strewn(1200, 5);
    const match = matchFields(seen(stars, 0, 0, 0, 1), seen(stars, 0.0005, 12, 9, 2, 0.1, (p) => p.x < 0.2 * WIDTH), WIDTH, HEIGHT)!;
    expect(match.fit.shiftX).toBeCloseTo(12, 0);
    expect(match.from.length).toBeGreaterThan(15);
  });

  it('of thirty pairs of different fields none is taken for one', () => {
    let taken = 0;
    for (let k = 0; k < 30; k++) {
      const count = 6 + 8 * k;
      if (matchFields(seen(strewn(count, 1000 + k), 0, 0, 0, 1), seen(strewn(count, 2000 + k), 0, 0, 0, 2), WIDTH, HEIGHT)) taken++;
    }
    expect(taken).toBe(0);
  });
});

describe('registerField', () => {
  it('lays dithered frames on each other, leaves out another field and says which', () => {
    const stars = strewn(500, 7);
    const moves = [[0, 0], [30, -20], [-60, 45], [400, 300], [10, 5]];
    const frames = moves.map(([dx, dy], k) => seen(stars, 1e-4 * k, dx!, dy!, k));
    frames.splice(2, 0, seen(strewn(800, 8), 0, 0, 0, 99));
    const field = registerField(frames, WIDTH, HEIGHT)!;
    expect(field.frames.map((f) => f !== null)).toEqual([true, true, false, true, true, true]);
    const used = field.frames.filter((f) => f !== null);
    // Against the first frame: the reference is another.
    used.forEach((f, k) => {
      expect(Math.abs(f.fit.shiftX - used[0]!.fit.shiftX - moves[k]![0]!)).toBeLessThan(0.3);
      expect(Math.abs(f.fit.rotation - used[0]!.fit.rotation - 1e-4 * k)).toBeLessThan(6e-5);
    });
  });

  it('the rotations scatter as their sigmas say', () => {
    const z: number[] = [];
    for (let night = 0; night < 24; night++) {
      const stars = strewn(400, 100 + night);
      const field = registerField([0, 1, 2, 3, 4, 5].map((k) => seen(stars, 0, 3 * k, -2 * k, 1000 * night + k)), WIDTH, HEIGHT)!;
      const fits = field.frames.map((f) => f!.fit);
      const mean = fits.reduce((sum, f) => sum + f.rotation, 0) / fits.length;
      for (const f of fits) z.push((f.rotation - mean) / Math.sqrt(f.covariance[8]! * (1 - 1 / fits.length)));
    }
    const rms = Math.sqrt(z.reduce((sum, v) => sum + v * v, 0) / z.length);
    // 120 degrees of freedom: ± 6 %, and the template's own error.
    expect(rms).toBeGreaterThan(0.85);
    expect(rms).toBeLessThan(1.15);
  });

  it('no two frames in common is null', () => {
    expect(registerField([seen(strewn(200, 1), 0, 0, 0, 1), seen(strewn(200, 2), 0, 0, 0, 2)], WIDTH, HEIGHT)).toBeNull();
  });
});
