import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Image, PixelArray } from '../../src/frames/frame.js';
import { detectStars } from '../../src/stars/detectStars.js';
import type { Scene } from './picture.js';
import { generator, nearest, paint, scattered } from './picture.js';

/** An ordinary small frame: 48 stars from 600 to 60 000 electrons. */
const plain: Scene = {
  width: 320, height: 260, seed: 7, sky: 200, readNoise: 6, fwhm: 2.6, beta: 3,
  stars: scattered(320, 260, 36, 3, (u) => 600 * Math.pow(100, u)),
};

const found = (image: Image, scene: Scene, radius = 1.5): number => {
  const { stars } = detectStars(image);
  return scene.stars.filter((s) => nearest(stars, s.x, s.y, radius) !== null).length;
};

describe('an ordinary frame', () => {
  const detection = detectStars(paint(plain));

  test('gives all stars, and nothing else above six sigmas', () => {
    expect(found(paint(plain), plain)).toBe(plain.stars.length);
    for (const star of detection.stars) {
      if (star.signalToNoise > 6) expect(nearest(plain.stars, star.x, star.y, 1), `at ${star.x}, ${star.y}`).not.toBeNull();
    }
    expect(detection.stars.length).toBeLessThanOrEqual(plain.stars.length + 1);
  });

  test('gives its sky, noise and star width', () => {
    expect(Math.abs(detection.background - 200)).toBeLessThan(1);
    // Stars cover a twentieth of this small frame and add a little.
    expect(Math.abs(detection.noise / Math.sqrt(236) - 1)).toBeLessThan(0.06);
    expect(Math.abs(detection.fwhm / 2.6 - 1)).toBeLessThan(0.05);
  });

  test('lists the brightest first, with their light to a few percent', () => {
    const fluxes = detection.stars.map((s) => s.flux);
    expect(fluxes).toEqual([...fluxes].sort((a, b) => b - a));
    for (const star of detection.stars.slice(0, 20)) {
      const truth = nearest(plain.stars, star.x, star.y, 1);
      expect(Math.abs(star.flux / truth!.light - 1)).toBeLessThan(0.1);
    }
  });

  test('marks none of its lone stars as blended or saturated', () => {
    expect(detection.stars.filter((s) => s.saturated)).toEqual([]);
    expect(detection.stars.filter((s) => s.blended).length).toBeLessThanOrEqual(1);
  });

  test('keeps the brightest where a limit is given', () => {
    const few = detectStars(paint(plain), { limit: 10 }).stars;
    expect(few).toHaveLength(10);
    expect(few.map((s) => Math.round(s.x))).toEqual(detection.stars.slice(0, 10).map((s) => Math.round(s.x)));
  });
});

describe('what is no star', () => {
  test('a thousand lone hot pixels and a hot column give none', () => {
    const random = generator(5);
    const image = paint({
      ...plain,
      spoil: (values) => {
        for (let k = 0; k < 1000; k++) values[Math.floor(random.uniform() * values.length)]! += 100 + 3000 * random.uniform();
        for (let y = 0; y < 260; y++) values[y * 320 + 151]! += 150;
      },
    });
    const { stars } = detectStars(image);
    const strangers = stars.filter((s) => nearest(plain.stars, s.x, s.y, 1.5) === null);
    // Two hot pixels side by side happen; a thousand lie ten pixels apart on average.
    expect(strangers.length).toBeLessThanOrEqual(10);
    expect(strangers.filter((s) => Math.abs(s.x - 151) < 3)).toEqual([]);
    expect(found(image, plain)).toBeGreaterThanOrEqual(plain.stars.length - 5);
  });

  test.each([
    // The light of a bad column is clipped where its noise is positive, so that it is a string of saturated pieces.
    ['in pieces', (y: number) => (y % 3 === 0 ? 60_000 : 59_000 + (y % 7))],
    ['from edge to edge', () => 60_000],
  ])('columns saturated %s give next to none and hide few', (_, value) => {
    const columns = [40, 41, 97, 151, 203, 260];
    const image = paint({
      ...plain, ceiling: 60_000,
      spoil: (values) => { for (const x of columns) for (let y = 0; y < 260; y++) values[y * 320 + x] = value(y); },
    });
    const { stars, fwhm } = detectStars(image);
    // Where a star's own light lies around a piece it passes for a saturated star.
    expect(stars.filter((s) => nearest(plain.stars, s.x, s.y, 1.5) === null).length).toBeLessThanOrEqual(3);
    const away = plain.stars.filter((s) => columns.every((x) => Math.abs(s.x - x) > 6));
    expect(away.length).toBeGreaterThan(30);
    expect(away.filter((s) => nearest(stars, s.x, s.y, 1) !== null).length).toBeGreaterThanOrEqual(away.length - 1);
    expect(Math.abs(fwhm / 2.6 - 1)).toBeLessThan(0.1);
  });

  test('a pale disc, as a reflected lamp makes it, does not change the measured width of the stars', () => {
    const few = plain.stars.slice(0, 12);
    const image = paint({
      ...plain, stars: few,
      add: (electrons) => {
        for (let y = 0; y < 260; y++) for (let x = 0; x < 320; x++) if (Math.hypot(x - 230, y - 190) < 25) electrons[y * 320 + x]! += 2500;
      },
    });
    const { stars, fwhm } = detectStars(image);
    expect(Math.abs(fwhm / 2.6 - 1)).toBeLessThan(0.1);
    expect(few.filter((s) => nearest(stars, s.x, s.y, 1) !== null).length).toBeGreaterThanOrEqual(11);
  });

  test('a star beside a hot pixel brighter than itself is still found', () => {
    const scene: Scene = { ...plain, stars: [...plain.stars, { x: 54.3, y: 54.1, light: 2000 }] };
    const image = paint({ ...scene, spoil: (values) => { values[58 * 320 + 54]! += 4000; } });
    expect(nearest(detectStars(image).stars, 54.3, 54.1, 0.3)).not.toBeNull();
  });

  test.each([['bright', 150], ['faint', 30]])('a %s satellite trail gives at most three, though it crosses the frame', (_, light) => {
    const image = paint({
      ...plain,
      add: (electrons) => {
        for (let y = 0; y < 260; y++) {
          for (let x = 0; x < 320; x++) {
            const across = (x * 0.6 - y * 0.8 + 11) / 1.1;
            electrons[y * 320 + x]! += light * Math.exp(-0.5 * across * across);
          }
        }
      },
    });
    const strangers = detectStars(image).stars.filter((s) => nearest(plain.stars, s.x, s.y, 1.5) === null);
    expect(strangers.length).toBeLessThanOrEqual(3);
    expect(found(image, plain)).toBeGreaterThanOrEqual(plain.stars.length - 5);
  });

  test('the jagged edge of a lit roof before the sky gives next to none, the stars above it stay', () => {
    const random = generator(11);
    const [width, height] = [800, 600];
    const roof = Float64Array.from({ length: width }, (_, x) => 420 + Math.round(20 * Math.sin(x / 43) + 5 * random.uniform()));
    const stars = scattered(width, height, 40, 4, (u) => 1200 * Math.pow(100, u)).filter((s) => s.y < 370);
    const image = paint({
      ...plain, width, height, stars,
      add: (electrons) => {
        for (let y = 0; y < height; y++) {
          for (let x = 0; x < width; x++) if (y > roof[x]!) electrons[y * width + x] = 900 + 80 * Math.sin(x / 9) + 2 * (y - 400);
        }
      },
    });
    const detected = detectStars(image).stars;
    const strangers = detected.filter((s) => nearest(stars, s.x, s.y, 1.5) === null);
    expect(strangers.length).toBeLessThanOrEqual(6);
    expect(stars.filter((s) => nearest(detected, s.x, s.y, 1) !== null).length).toBeGreaterThanOrEqual(stars.length - 4);
  });

  test('noise alone gives fewer than one false star in a million pixels at five sigmas', () => {
    let false5 = 0;
    for (let seed = 0; seed < 2; seed++) {
      const image = paint({ width: 1000, height: 1000, seed, sky: 300, readNoise: 5, fwhm: 2.5, stars: [] });
      false5 += detectStars(image, { threshold: 5, limit: 1000 }).stars.length;
    }
    expect(false5).toBeLessThanOrEqual(2);
  });

  test('noise smoothed together, as by mosaic colours or stacking: one false star in a hundred thousand pixels at most', () => {
    const white = paint({ width: 700, height: 700, seed: 3, sky: 300, readNoise: 5, fwhm: 2.5, stars: [] });
    const data = new Float32Array(700 * 700).fill(300);
    for (let y = 1; y < 699; y++) {
      for (let x = 1; x < 699; x++) {
        let sum = 0;
        for (let v = -1; v <= 1; v++) for (let u = -1; u <= 1; u++) sum += white.data[(y + v) * 700 + x + u]!;
        data[y * 700 + x] = sum / 9;
      }
    }
    expect(detectStars({ width: 700, height: 700, data, ceiling: null }).stars.length).toBeLessThanOrEqual(5);
  });
});

describe('difficult stars', () => {
  test('a saturated star is one detection, flagged, its place right within its sigma', () => {
    const truth = { x: 160.3, y: 130.6, light: 6e6 };
    const stars = plain.stars.filter((s) => Math.hypot(s.x - truth.x, s.y - truth.y) > 40);
    const { stars: detected } = detectStars(paint({ ...plain, stars: [...stars, truth], ceiling: 16383 }));
    const near = detected.filter((s) => Math.hypot(s.x - truth.x, s.y - truth.y) < 15);
    expect(near).toHaveLength(1);
    expect(near[0]!.saturated).toBe(true);
    expect(Math.abs(near[0]!.x - truth.x)).toBeLessThan(4 * near[0]!.sigma);
    expect(Math.abs(near[0]!.y - truth.y)).toBeLessThan(4 * near[0]!.sigma);
    expect(near[0]!.sigma).toBeLessThan(0.5);
    expect(near[0]!.sigma).toBeGreaterThan(0.02);
    expect(detected[0]).toBe(near[0]);
  });

  test('a saturation level that the file does not tell is seen from the flat tops', () => {
    const scene: Scene = { ...plain, stars: [...plain.stars, { x: 160, y: 130, light: 3e6 }], ceiling: 16383 };
    const image = { ...paint(scene), ceiling: null };
    expect(nearest(detectStars(image).stars, 160, 130, 2)?.saturated).toBe(true);
  });

  test('two stars a little over two widths apart are two, neither pulling the other', () => {
    const scene: Scene = { ...plain, stars: [...plain.stars, { x: 54, y: 54, light: 20000 }, { x: 58.2, y: 58.1, light: 15000 }] };
    const { stars } = detectStars(paint(scene));
    const a = nearest(stars, 54, 54, 0.05);
    const b = nearest(stars, 58.2, 58.1, 0.05);
    expect(a).not.toBeNull();
    expect(b).not.toBeNull();
  });

  test.each([1.3, 1.6, 2, 3, 5, 9, 14, 20])('stars %d px wide are found, and the width measured', (fwhm) => {
    const size = Math.max(320, (fwhm < 9 ? 24 : 10) * fwhm * 6);
    const spacing = Math.max(30, 6 * fwhm);
    const light = (u: number): number => 400 * fwhm * fwhm * Math.pow(20, u);
    const scene: Scene = {
      ...plain, width: Math.round(size), height: Math.round(size), fwhm,
      stars: scattered(Math.round(size), Math.round(size), spacing, 9, light), beta: 4,
    };
    const detection = detectStars(paint(scene));
    const got = scene.stars.filter((s) => nearest(detection.stars, s.x, s.y, Math.max(1, fwhm / 4)) !== null);
    expect(got.length / scene.stars.length).toBeGreaterThan(0.97);
    const strangers = detection.stars.filter((s) => nearest(scene.stars, s.x, s.y, Math.max(1.5, fwhm)) === null);
    expect(strangers.length).toBeLessThanOrEqual(0.03 * scene.stars.length);
    expect(Math.abs(detection.fwhm / fwhm - 1)).toBeLessThan(0.12);
  });

  test('where all stars are trailed alike they are stars', () => {
    const scene: Scene = { ...plain, elongation: 4, turn: 0.5, beta: Infinity,
      stars: scattered(320, 260, 40, 3, (u) => 3000 * Math.pow(20, u)) };
    const { stars } = detectStars(paint(scene));
    expect(scene.stars.filter((s) => nearest(stars, s.x, s.y, 1) !== null)).toHaveLength(scene.stars.length);
    expect(stars).toHaveLength(scene.stars.length);
    const elongations = stars.slice(0, 10).map((s) => s.elongation);
    for (const e of elongations) expect(Math.abs(e - 4)).toBeLessThan(1.2);
  });

  test('a star whose core the edge cuts is left out; one well inside is kept', () => {
    const scene: Scene = { ...plain, stars: [{ x: -0.2, y: 100, light: 40000 }, { x: 319.4, y: 40, light: 40000 },
      { x: 3.5, y: 200, light: 40000 }, ...plain.stars.filter((s) => s.x > 30 && s.x < 290)] };
    const { stars } = detectStars(paint(scene));
    expect(nearest(stars, 0, 100, 3)).toBeNull();
    expect(nearest(stars, 319, 40, 3)).toBeNull();
    expect(nearest(stars, 3.5, 200, 0.2)).not.toBeNull();
  });
});

describe('difficult skies', () => {
  const skies: [string, (x: number, y: number) => number][] = [
    ['a strong gradient', (x, y) => 200 + 6 * x + 3 * y],
    ['vignetting by half', (x, y) => 3000 * (1 - 0.5 * (((x - 160) / 200) ** 2 + ((y - 130) / 200) ** 2) / 2)],
    ['a city glow at the lower edge', (_, y) => 200 + 3000 * Math.exp((y - 260) / 100)],
  ];
  test.each(skies)('%s hides hardly any star that exceeds its noise, and adds hardly any', (_, sky) => {
    const scene: Scene = { ...plain, sky, stars: plain.stars.map((s) => ({ ...s, light: s.light + 3000 })) };
    const { stars } = detectStars(paint(scene));
    expect(scene.stars.filter((s) => nearest(stars, s.x, s.y, 1) !== null).length).toBeGreaterThanOrEqual(scene.stars.length - 2);
    expect(stars.filter((s) => nearest(scene.stars, s.x, s.y, 1.5) === null).length).toBeLessThanOrEqual(3);
  });
});

describe('pictures without stars', () => {
  const sizes = [[1, 1], [1, 300], [300, 1], [2, 2], [3, 3], [5, 7], [16, 16], [64, 65], [200, 150]] as const;
  const makers: [string, (n: number) => PixelArray][] = [
    ['constant', (n) => new Uint16Array(n).fill(1000)],
    ['black', (n) => new Uint8Array(n)],
    ['blank', (n) => new Float32Array(n).fill(NaN)],
    ['infinite', (n) => new Float64Array(n).fill(Infinity)],
    ['saturated', (n) => new Uint16Array(n).fill(65535)],
    ['a ramp', (n) => Int32Array.from({ length: n }, (_, i) => i)],
  ];
  test.each(makers)('%s: no stars, at any size', (_, make) => {
    for (const [width, height] of sizes) {
      const detection = detectStars({ width, height, data: make(width * height), ceiling: 65535 });
      expect(detection.stars, `${width}x${height}`).toEqual([]);
    }
  });

  test('small pictures of noise: numbers, whatever they are, and no exception', () => {
    fc.assert(fc.property(
      fc.integer({ min: 1, max: 40 }), fc.integer({ min: 1, max: 40 }), fc.integer({ min: 0, max: 1000 }), fc.boolean(),
      (width, height, seed, blanks) => {
        const random = generator(seed);
        const data = Float32Array.from({ length: width * height }, () =>
          (blanks && random.uniform() < 0.3 ? NaN : 100 + 10 * random.gaussian()));
        for (const star of detectStars({ width, height, data, ceiling: null }).stars) {
          for (const value of [star.x, star.y, star.sigma, star.flux, star.fwhm, star.elongation,
            star.signalToNoise]) expect(Number.isFinite(value)).toBe(true);
        }
      },
    ), { numRuns: 200 });
  });
});

describe('the same picture stored in another way', () => {
  const image = paint(plain);
  const expected = detectStars(image).stars;

  test.each([
    ['16-bit signed', Int16Array.from(image.data, (v) => v - 32768)],
    ['32-bit', Int32Array.from(image.data)],
    ['32-bit unsigned', Uint32Array.from(image.data)],
    ['float', Float32Array.from(image.data)],
    ['double from 0 to 1', Float64Array.from(image.data, (v) => v / 65535)],
  ] as [string, PixelArray][])('%s: the same stars', (_, data) => {
    const { stars } = detectStars({ ...image, data, ceiling: null });
    expect(stars).toHaveLength(expected.length);
    for (const star of expected) expect(nearest(stars, star.x, star.y, 0.05 * star.sigma + 0.001), `at ${star.x}`).not.toBeNull();
  });

  test('8-bit, most of the noise lost in the steps: the brighter stars', () => {
    const data = Uint8Array.from(image.data, (v) => Math.min(255, v / 16));
    const { stars } = detectStars({ ...image, data, ceiling: 255 });
    const bright = plain.stars.filter((s) => s.light > 6000);
    expect(bright.filter((s) => nearest(stars, s.x, s.y, 0.5) !== null)).toHaveLength(bright.length);
    expect(stars.length).toBeLessThanOrEqual(plain.stars.length);
  });

  test('one pixel in a hundred blank: nearly the same stars', () => {
    const random = generator(2);
    const data = Float32Array.from(image.data, (v) => (random.uniform() < 0.01 ? NaN : v));
    expect(found({ ...image, data }, plain, 0.5)).toBeGreaterThanOrEqual(plain.stars.length - 2);
  });

  test('shifted by whole pixels, the stars shift along', () => {
    const wide = paint({ ...plain, width: 400, height: 340, stars: plain.stars.map((s) => ({ ...s, x: s.x + 40, y: s.y + 40 })) });
    const cut = (left: number, top: number): Image => {
      const data = new Uint16Array(320 * 260);
      for (let y = 0; y < 260; y++) data.set((wide.data as Uint16Array).subarray((y + top) * 400 + left, (y + top) * 400 + left + 320),
        y * 320);
      return { width: 320, height: 260, data, ceiling: 65535 };
    };
    const still = detectStars(cut(40, 40)).stars;
    fc.assert(fc.property(fc.integer({ min: 25, max: 55 }), fc.integer({ min: 25, max: 55 }), (left, top) => {
      const moved = detectStars(cut(left, top)).stars;
      let same = 0;
      for (const star of still) {
        // What just reaches the threshold here may just miss it there.
        if (star.signalToNoise < 7) continue;
        const x = star.x + 40 - left;
        const y = star.y + 40 - top;
        if (x < 8 || y < 8 || x > 311 || y > 251) continue;
        const there = nearest(moved, x, y, 1);
        expect(there, `star at ${star.x}, ${star.y}`).not.toBeNull();
        // The mesh, and with it the frame's measured star, changes a little with what is in the frame.
        expect(Math.hypot(there!.x - x, there!.y - y)).toBeLessThan(0.5 * star.sigma + 0.01);
        same++;
      }
      expect(same).toBeGreaterThan(25);
    }), { numRuns: 25 });
  });
});
