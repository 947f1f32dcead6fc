import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mosaicToLuminance } from '../../src/frames/mosaic.js';
import type { Image, PixelArray } from '../../src/frames/frame.js';

const image = (width: number, height: number, data: PixelArray): Image => ({ width, height, data, ceiling: 65535 });

describe('luminance of a colour mosaic', () => {
  it('is the mean of each 2x2 cell, with the last column and row repeated', () => {
    const mosaic = image(3, 3, Uint16Array.of(1, 2, 3, 4, 5, 6, 7, 8, 10));
    expect([...mosaicToLuminance(mosaic).data]).toEqual([3, 4, 4, 6, 7.25, 7.25, 6, 7.25, 7.25]);
  });
  it('leaves its argument alone', () => {
    const data = Uint16Array.of(1, 2, 3, 4);
    mosaicToLuminance(image(2, 2, data));
    expect([...data]).toEqual([1, 2, 3, 4]);
  });
  it('has no colour left: a flat field of any four colours becomes flat', () => {
    const colours = [100, 300, 320, 80];
    const data = Float32Array.from({ length: 36 }, (_, i) => colours[((Math.floor(i / 6) % 2) * 2 + (i % 2))] as number);
    expect(new Set(mosaicToLuminance(image(6, 6, data)).data)).toEqual(new Set([200]));
  });
  it('moves a star by half a pixel in x and y, exactly', () => {
    const [width, height, x0, y0] = [40, 30, 17.3, 12.8];
    const data = Float64Array.from({ length: width * height }, (_, i) => {
      const [dx, dy] = [(i % width) - x0, Math.floor(i / width) - y0];
      return Math.exp(-(dx * dx + dy * dy) / (2 * 1.5 ** 2));
    });
    const { data: mean } = mosaicToLuminance(image(width, height, data));
    let [sum, sx, sy] = [0, 0, 0];
    mean.forEach((v, i) => {
      sum += v;
      sx += v * (i % width);
      sy += v * Math.floor(i / width);
    });
    expect(sx / sum + 0.5).toBeCloseTo(x0, 9);
    expect(sy / sum + 0.5).toBeCloseTo(y0, 9);
  });
  it('has a scatter half the pixels\' and, summed over an area, their noise: twice what that scatter suggests', () => {
    // Noise of standard deviation 1 by a linear congruential generator (Numerical Recipes, 2nd ed., section 7.1), twelve summed.
    let state = 1;
    const uniform = () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32;
    const size = 512;
    const noise = Float64Array.from({ length: size * size }, () => Array.from({ length: 12 }, uniform).reduce((a, b) => a + b, -6));
    const { data } = mosaicToLuminance(image(size, size, noise));
    const box = 16;
    let [pixels, sums, boxes] = [0, 0, 0];
    for (let y0 = 0; y0 + box < size; y0 += box) {
      for (let x0 = 0; x0 + box < size; x0 += box, boxes++) {
        let sum = 0;
        for (let y = y0; y < y0 + box; y++) for (let x = x0; x < x0 + box; x++) sum += data[y * size + x] as number;
        sums += sum ** 2;
      }
    }
    for (const value of data) pixels += value ** 2;
    const scatter = Math.sqrt(pixels / data.length);
    expect(scatter).toBeCloseTo(0.5, 2);
    const ratio = Math.sqrt(sums / boxes) / (scatter * box);
    // 961 boxes give 2.3 % of uncertainty; the rim of a box takes 3 % off.
    expect(ratio).toBeGreaterThan(1.8);
    expect(ratio).toBeLessThan(2.1);
  });
  it('is blank where one of its pixels is', () => {
    const data = Float32Array.of(1, 1, 1, 1, 1, NaN, 1, 1, 1, 1, 1, 1);
    expect([...mosaicToLuminance(image(4, 3, data)).data].slice(0, 4)).toEqual([NaN, NaN, 1, 1]);
  });
  it('may take the place of the mosaic, then rounded half up', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 7 }), fc.integer({ min: 2, max: 7 }),
        fc.infiniteStream(fc.integer({ min: -32768, max: 32767 })), (w, h, stream) => {
        const data = Int16Array.from({ length: w * h }, () => stream.next().value as number);
        const exact = mosaicToLuminance(image(w, h, data)).data;
        const inPlace = mosaicToLuminance(image(w, h, data), data).data;
        expect(inPlace).toBe(data);
        expect([...inPlace]).toEqual([...exact].map((v) => Math.floor(v + 0.5) + 0));
      }),
    );
  });
});
