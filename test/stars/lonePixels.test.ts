import { expect, test } from 'vitest';
import { measureBackground } from '../../src/stars/background.js';
import { detectStars } from '../../src/stars/detectStars.js';
import { withoutLonePixels } from '../../src/stars/lonePixels.js';
import { generator } from '../axis/sightings.js';

const [width, height] = [600, 450];
const { uniform, normal } = generator(5);
const sky = (): Uint16Array => Uint16Array.from({ length: width * height }, () => Math.round(1000 + 12 * normal()));
/** Adds a Gaussian star with photon noise of its own. */
function star(data: Uint16Array, x: number, y: number, peak: number, fwhm: number): void {
  for (let v = Math.max(0, Math.floor(y - 3 * fwhm)); v <= Math.min(height - 1, y + 3 * fwhm); v++) {
    for (let u = Math.max(0, Math.floor(x - 3 * fwhm)); u <= Math.min(width - 1, x + 3 * fwhm); u++) {
      const light = peak * Math.exp((-4 * Math.LN2 * ((u - x) ** 2 + (v - y) ** 2)) / fwhm ** 2);
      data[v * width + u]! += Math.round(Math.max(0, light + Math.sqrt(light) * normal()));
    }
  }
}
const places = Array.from({ length: 40 }, (_, i) => ({
  x: 40 + 60 * (i % 9) + 20 * uniform(), y: 40 + 80 * Math.floor(i / 9) + 20 * uniform(), peak: 60 * Math.pow(60, uniform()),
}));

test.each([4, 6, 8])('of a thousand hot pixels none is taken for a star %d pixels wide', (fwhm) => {
  const data = sky();
  for (const { x, y, peak } of places) star(data, x, y, peak, fwhm);
  for (let n = 0; n < 1000; n++) data[Math.floor(uniform() * data.length)]! += 100 * Math.pow(200, uniform());
  const found = detectStars({ width, height, data, ceiling: 65535 });
  expect(found.fwhm / fwhm).toBeCloseTo(1, 1);
  const isStar = (s: { x: number; y: number }): boolean => places.some((p) => Math.hypot(p.x - s.x, p.y - s.y) < fwhm / 3);
  expect(found.stars.filter(isStar).length).toBeGreaterThanOrEqual(36);
  // Where two hot pixels touch they do look like a small star.
  expect(found.stars.filter((s) => !isStar(s)).length).toBeLessThanOrEqual(12);
});

test('no pixel of a wide star is changed, and a picture without lone pixels stays as it is', () => {
  const data = sky();
  for (const { x, y, peak } of places) star(data, x, y, 10 * peak, 3.3);
  const image = { width, height, data, ceiling: 65535 };
  const mesh = measureBackground(image)!;
  expect(withoutLonePixels(image, mesh)).toBe(image);
  const at = 200 * width + 300;
  data[at]! += 200;
  const before = data[at];
  const levelled = withoutLonePixels(image, mesh);
  expect(levelled.data[at]).toBeLessThan(1100);
  // The caller's picture is not touched.
  expect(data[at]).toBe(before);
});
