import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { fieldShape } from '../../src/run/fieldShape.js';
import { detectStars } from '../../src/stars/detectStars.js';
import { starShapes } from '../../src/stars/starShapes.js';

/** Made by testdata/run/makeFields.py: invented pictures, and the moments that sep.extract (Bertin & Arnouts' method) finds in them. */
interface Picture {
  readonly width: number; readonly height: number; readonly pixels: string;
  readonly long: number; readonly short: number; readonly theta: number;
  readonly sep: { readonly a: number; readonly b: number; readonly theta: number };
}
const PICTURES = JSON.parse(gunzipSync(readFileSync(new URL('../../testdata/run/shapes.json.gz', import.meta.url)))
  .toString()) as Picture[];
const FWHM = 2 * Math.sqrt(2 * Math.LN2);

describe('star shapes against sep', () => {
  it.each(PICTURES.map((p) => [`${p.long} by ${p.short} px`, p] as const))('%s: width, elongation and direction agree', (_, p) => {
    const bytes = Buffer.from(p.pixels, 'base64');
    const data = new Uint16Array(p.width * p.height).map((_v, k) => bytes.readUInt16LE(2 * k));
    const image = { width: p.width, height: p.height, data, ceiling: 65535 };
    const { whole } = fieldShape(starShapes(image, detectStars(image).stars), p.width, p.height);
    expect(whole!.stars).toBeGreaterThan(10);
    // Both measure second moments; sep cuts the wings at its threshold: 2 %.
    expect(whole!.fwhm / (FWHM * Math.sqrt(p.sep.a * p.sep.b))).toBeCloseTo(1, 1.6);
    expect(whole!.elongation / (p.sep.a / p.sep.b)).toBeCloseTo(1, 1.6);
    if (p.long > p.short) expect(Math.abs(Math.sin(whole!.direction - p.sep.theta))).toBeLessThan(0.03);
    // What the picture was made with, integration over the pixel (1/12) included.
    expect(whole!.fwhm).toBeCloseTo(FWHM * ((p.long ** 2 + 1 / 12) * (p.short ** 2 + 1 / 12)) ** 0.25, 1);
  });
});
