/**
 * Places against the truth of painted stars: without bias, as near to it as photons and sky allow, and with a
 * true sigma. The bound: King 1983, PASP 95, 163 (the Cramér-Rao limit of a star of known shape on a noisy sky).
 */
import { describe, expect, test } from 'vitest';
import { detectStars } from '../../src/stars/detectStars.js';
import type { Scene } from './picture.js';
import { nearest, paint, rms, scattered } from './picture.js';

interface Case { name: string; scene: Partial<Scene> & { fwhm: number }; faintest: number }
const cases: Case[] = [
  { name: 'seeing-limited, Moffat', scene: { fwhm: 2.6, beta: 3 }, faintest: 900 },
  { name: 'well sampled, Gaussian', scene: { fwhm: 4 }, faintest: 1500 },
  { name: 'undersampled', scene: { fwhm: 1.4, beta: 4 }, faintest: 700 },
  { name: 'defocused', scene: { fwhm: 9, beta: 4 }, faintest: 6000 },
  { name: 'trailed', scene: { fwhm: 3, elongation: 2.5, turn: 1 }, faintest: 1500 },
];

describe.each(cases)('$name', ({ scene, faintest }) => {
  const spacing = Math.max(44, 10 * scene.fwhm);
  const deviations: { z: number[]; dx: number[]; dy: number[]; ideal: number[]; phase: number[] } = { z: [], dx: [], dy: [], ideal: [],
    phase: [] };
  for (let seed = 0; seed < 4; seed++) {
    const side = Math.round(14 * spacing);
    const whole: Scene = {
      width: side, height: side, seed, sky: 250, readNoise: 5, ...scene,
      stars: scattered(side, side, spacing, 40 + seed, (u) => faintest * Math.pow(100, u)),
    };
    const { stars } = detectStars(paint(whole));
    for (const truth of whole.stars) {
      const star = nearest(stars, truth.x, truth.y, 2);
      if (star === null) continue;
      deviations.z.push((star.x - truth.x) / star.sigma, (star.y - truth.y) / star.sigma);
      deviations.dx.push(star.x - truth.x);
      deviations.dy.push(star.y - truth.y);
      deviations.phase.push(truth.x - Math.round(truth.x));
      deviations.ideal.push(bound(whole, truth.light));
    }
  }

  test('nearly all stars are found', () => {
    expect(deviations.dx.length).toBeGreaterThan(0.97 * 4 * 12 * 12);
  });

  test('no bias, on the whole or by where in its pixel a star lies', () => {
    const n = deviations.dx.length;
    for (const d of [deviations.dx, deviations.dy]) {
      const z = d.map((v, k) => v / Math.hypot(deviations.ideal[k]!, 0.002 * scene.fwhm));
      expect(Math.abs(z.reduce((a, b) => a + b, 0) / n)).toBeLessThan(4 / Math.sqrt(n));
    }
    // Sign of the deviation against that of the place in the pixel: a pull to pixel centres or edges shows.
    const pull = deviations.dx.reduce((sum, v, k) => sum + (v / Math.hypot(deviations.ideal[k]!,
      0.002 * scene.fwhm)) * Math.sin(2 * Math.PI * deviations.phase[k]!), 0);
    expect(Math.abs(pull / n)).toBeLessThan(5 / Math.sqrt(n));
  });

  test('sigma is honest: deviations over sigma have an rms of one, within a tenth or so', () => {
    expect(rms(deviations.z)).toBeGreaterThan(0.8);
    expect(rms(deviations.z)).toBeLessThan(1.15);
  });

  test('the deviations come within a quarter of the bound', () => {
    const ratio = deviations.dx.flatMap((v, k) => [v / deviations.ideal[k]!, deviations.dy[k]! / deviations.ideal[k]!]);
    expect(rms(ratio)).toBeLessThan(scene.elongation === undefined ? 1.25 : 1.4);
  });
});

/** Cramér-Rao bound of one coordinate (mean of both), by summing the information of all pixels. */
function bound(scene: Scene, light: number): number {
  const star = { x: 40.25, y: 40.25, light };
  const base: Scene = { ...scene, width: 81, height: 81, sky: 0, readNoise: 0, stars: [] };
  const at = (dx: number, dy: number): Float64Array => expected({ ...base, stars: [{ ...star, x: star.x + dx, y: star.y + dy }] });
  const key = `${scene.fwhm} ${scene.beta} ${scene.elongation}`;
  let derivative = derivatives.get(key);
  if (derivative === undefined) {
    const h = 0.02;
    const unit = 1 / light;
    const plus = at(h, 0);
    const minus = at(-h, 0);
    const up = at(0, h);
    const down = at(0, -h);
    derivative = {
      value: at(0, 0).map((v) => v * unit),
      x: plus.map((v, k) => ((v - minus[k]!) * unit) / (2 * h)),
      y: up.map((v, k) => ((v - down[k]!) * unit) / (2 * h)),
    };
    derivatives.set(key, derivative);
  }
  const variance = 250 + scene.readNoise ** 2;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let k = 0; k < derivative.value.length; k++) {
    const w = (light * light) / (variance + light * derivative.value[k]!);
    xx += w * derivative.x[k]! ** 2;
    xy += w * derivative.x[k]! * derivative.y[k]!;
    yy += w * derivative.y[k]! ** 2;
  }
  return Math.sqrt((xx + yy) / 2 / (xx * yy - xy * xy));
}

const derivatives = new Map<string, { value: Float64Array; x: Float64Array; y: Float64Array }>();

function expected(scene: Scene): Float64Array {
  const out: Float64Array[] = [];
  paint({ ...scene, add: (electrons) => { out.push(electrons.slice()); } });
  return out[0]!;
}
test('moonlight that slopes by a fifth of the noise a pixel pulls no star toward its bright side', () => {
  const z: { along: number[]; across: number[] } = { along: [], across: [] };
  for (let seed = 0; seed < 3; seed++) {
    const scene: Scene = {
      width: 700, height: 500, seed, sky: (x, y) => 4000 + 20 * x + 3 * y, readNoise: 5, fwhm: 2.6, beta: 3,
      stars: scattered(700, 500, 40, 90 + seed, (u) => 3000 * Math.pow(20, u)),
    };
    const { stars } = detectStars(paint(scene));
    for (const truth of scene.stars) {
      const star = nearest(stars, truth.x, truth.y, 2);
      if (star === null) continue;
      z.along.push((star.x - truth.x) / star.sigma);
      z.across.push((star.y - truth.y) / star.sigma);
    }
  }
  expect(z.along.length).toBeGreaterThan(300);
  for (const values of [z.along, z.across]) {
    expect(Math.abs(values.reduce((a, b) => a + b, 0) / values.length)).toBeLessThan(4 / Math.sqrt(values.length));
    expect(rms(values)).toBeLessThan(1.15);
  }
});
