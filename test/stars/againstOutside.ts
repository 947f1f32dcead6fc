import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Image } from '../../src/frames/frame.js';
import { detectStars } from '../../src/stars/detectStars.js';
import type { DetectedStar } from '../../src/stars/star.js';
import type { SkyFolder } from '../skies.js';
import { skyTruth } from '../skies.js';
import { median, nearest, rms, skyImage } from './picture.js';

/** x, y (0-based, windowed), signal to noise, flags (0: neither saturated, blended nor cut). */
export type Row = readonly [x: number, y: number, signalToNoise: number, flags: number];

interface Table {
  readonly madeBy: string;
  readonly frames: Readonly<Record<string, Readonly<Record<string, readonly Row[]>>>>;
}

/** What another program found, made by testdata/stars/make.py. */
export function outsideTable(program: 'sep' | 'source-extractor'): Table {
  return JSON.parse(readFileSync(fileURLToPath(new URL(`../../testdata/stars/${program}.json`, import.meta.url)), 'utf8')) as Table;
}

export function imageOf(frame: string): Image {
  const [folder, name] = frame.split('/') as [SkyFolder, string];
  return skyImage(folder, name);
}

const detected = new Map<string, readonly DetectedStar[]>();

/** All stars of a frame at five sigmas. */
export function ours(frame: string): readonly DetectedStar[] {
  let stars = detected.get(frame);
  if (stars === undefined) {
    stars = detectStars(imageOf(frame), { threshold: 5, limit: 1e6 }).stars;
    detected.set(frame, stars);
  }
  return stars;
}

/**
 * True where one pixel has more than 0.6 of the light of the three by three about it: a hot pixel, of which the frames have
 * about fifty and which the other programs list. The sharpest of these frames' stars gives its brightest pixel 0.45.
 */
export function isHotPixel(image: Image, x: number, y: number): boolean {
  const { width, height, data } = image;
  const around = (cx: number, cy: number, visit: (value: number, u: number, v: number) => void, reach: number): void => {
    for (let v = Math.max(0, cy - reach); v <= Math.min(height - 1, cy + reach); v++) {
      for (let u = Math.max(0, cx - reach); u <= Math.min(width - 1, cx + reach); u++) visit(data[v * width + u]!, u, v);
    }
  };
  const wide: number[] = [];
  around(Math.round(x), Math.round(y), (value) => wide.push(value), 7);
  const sky = median(wide);
  let peak = -Infinity;
  let px = 0;
  let py = 0;
  around(Math.round(x), Math.round(y), (value, u, v) => {
    if (value > peak) {
      peak = value;
      px = u;
      py = v;
    }
  }, 1);
  let sum = 0;
  around(px, py, (value) => { sum += value - sky; }, 1);
  return peak - sky > 0.6 * sum;
}

/** Of the other program's clean detections, how many we have too. */
export function shareFound(frame: string, rows: readonly Row[]): { theirs: number; found: number } {
  const image = imageOf(frame);
  let theirs = 0;
  let found = 0;
  for (const [x, y, , flags] of rows) {
    if (flags !== 0 || isHotPixel(image, x, y)) continue;
    theirs++;
    if (nearest(ours(frame), x, y, 1.5) !== null) found++;
  }
  return { theirs, found };
}

/** Deviations from the truth, both coordinates, of catalogue stars that both have, by our signal to noise. */
export interface Comparison { readonly from: number; readonly to: number; readonly our: number[]; readonly their: number[] }

export function compareWithTruth(frames: Readonly<Record<string, readonly Row[]>>): Comparison[] {
  const classes: Comparison[] = [[5, 30], [30, 100], [100, 300], [300, Infinity]].map(([from, to]) =>
    ({ from: from!, to: to!, our: [], their: [] }));
  for (const [frame, rows] of Object.entries(frames)) {
    const [folder, name] = frame.split('/') as [SkyFolder, string];
    const truth = skyTruth(folder).frames.find((f) => f.file === `${name}.fits`)!;
    const clean = rows.filter((row) => row[3] === 0).map(([x, y]) => ({ x, y }));
    for (const star of truth.stars) {
      // Catalogue stars nearer to each other than two widths have no truth of their own.
      if (truth.stars.some((other) => other !== star && Math.hypot(other.x - star.x, other.y - star.y) < 6)) continue;
      const a = nearest(ours(frame), star.x, star.y, 1.5);
      const b = nearest(clean, star.x, star.y, 1.5);
      if (a === null || b === null || a.saturated || a.blended) continue;
      const kind = classes.find((c) => a.signalToNoise >= c.from && a.signalToNoise < c.to);
      kind?.our.push(a.x - star.x, a.y - star.y);
      kind?.their.push(b.x - star.x, b.y - star.y);
    }
  }
  return classes;
}

/** Ours over theirs: median and rms of the deviations. */
export function ratios(c: Comparison): { median: number; rms: number; stars: number } {
  const size = (values: number[]): number => median(values.map(Math.abs));
  return { median: size(c.our) / size(c.their), rms: rms(c.our) / rms(c.their), stars: c.our.length / 2 };
}
