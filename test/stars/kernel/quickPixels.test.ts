import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { PixelArray } from '../../../src/frames/frame.js';
import { measureBackground, skyAt, slopeAt } from '../../../src/stars/background.js';
import { climb } from '../../../src/stars/climb.js';
import { blockCorrelation } from '../../../src/stars/correlatedNoise.js';
import { pictureMemory, quickened } from '../../../src/stars/kernel/quickPixels.js';
import { matchedCorrelation } from '../../../src/stars/matchedNoise.js';
import type { Picture } from '../../../src/stars/picture.js';
import { adaptiveShape } from '../../../src/stars/shape.js';
import { cutStamp, makeStamp } from '../../../src/stars/stamp.js';
import { makeRing, surroundings } from '../../../src/stars/surroundings.js';
import { windowSums } from '../../../src/stars/window.js';
import { emptySums } from '../../../src/stars/windowed.js';

const KINDS = [Uint8Array, Uint16Array, Int16Array, Uint32Array, Int32Array, Float32Array, Float64Array] as const;
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const picture = fc.record({
  kind: fc.nat(KINDS.length - 1), width: fc.integer({ min: 1, max: 220 }), height: fc.integer({ min: 1, max: 180 }), seed: fc.integer(),
  sky: number(20, 90), noise: number(0, 12), blanks: fc.constantFrom(0, 0, 0.02, 1), slope: number(-0.2, 0.2),
});

/** Sky with noise and stars; where the pixels can hold them, blanks. */
function draw(g: typeof picture extends fc.Arbitrary<infer T> ? T : never): PixelArray {
  const random = (k: number): number => Math.abs(Math.sin(g.seed + 12.9898 * k) * 43758.5453) % 1;
  const stars = Array.from(
    { length: 12 }, (_, k) => [random(3 * k) * g.width, random(3 * k + 1) * g.height, 150 * random(3 * k + 2)] as const,
  );
  const data = new KINDS[g.kind]!(g.width * g.height);
  for (let y = 0, k = 0; y < g.height; y++) {
    for (let x = 0; x < g.width; x++, k++) {
      const light = stars.reduce((sum, [u, v, peak]) => sum + peak * Math.exp(-((x - u) ** 2 + (y - v) ** 2) / 4), 0);
      const value = g.sky + g.slope * x + light + g.noise * (random(k + 99) + random(k + 0.5) - 1);
      data[k] = random(k + 0.25) < g.blanks ? (k % 3 ? NaN : Infinity) : value;
    }
  }
  return data;
}

function check(quick: Picture, g: { x: number; y: number; long: number; ratio: number; xy: number; ceiling: number; reach: number }): void {
  const plain: Picture = { ...quick, quick: null };
  expect(quick.quick).not.toBeNull();
  const mesh = measureBackground(plain);
  expect(measureBackground(quick)).toEqual(mesh);
  if (mesh === null) return;
  quick.quick!.useMesh(mesh);
  const [x, y] = [g.x * (quick.width - 1), g.y * (quick.height - 1)];
  const [xx, yy] = [g.long, g.long * g.ratio];
  const shape = { xx, yy, xy: g.xy * Math.sqrt(xx * yy) };
  const all = (image: Picture): unknown => {
    const sky = skyAt(image, mesh, x, y);
    const sums = emptySums();
    windowSums(image, x, y, shape, sky, g.ceiling, sums);
    const first = { ...sums };
    const place = climb(image, x, y, shape, sky, sums, g.ceiling, 2);
    const climbed = { ...sums };
    const adaptive = adaptiveShape(image, mesh, x, y, g.ceiling, 1.5, sums);
    const stamp = makeStamp();
    const slope = slopeAt(image, mesh, x, y);
    cutStamp(image, x, y, Math.ceil(g.reach), sky, slope, g.ceiling, stamp);
    return {
      sky, first, place, climbed, adaptive, sums, slope, stamp, ring: surroundings(image, x, y, g.reach, 1.5 * g.reach + 1, makeRing()),
      blocks: blockCorrelation(image, mesh, 2), matched: matchedCorrelation(image, mesh, shape),
    };
  };
  expect(all(quick)).toEqual(all(plain));
}

const place = fc.record({
  x: number(-0.1, 1.1), y: number(-0.1, 1.1), long: number(0.3, 9), ratio: number(0.3, 1), xy: number(-0.8, 0.8),
  ceiling: fc.constantFrom(Infinity, 120), reach: number(1, 12),
});

it('gives the same as in JavaScript to the last bit, for all kinds of pixels, blanks, windows and places', () => {
  fc.assert(fc.property(picture, place, (g, at) => {
    check(quickened({ width: g.width, height: g.height, data: draw(g), ceiling: null }), at);
  }), { numRuns: 120 });
});

it('and where the pixels lie in its memory from the beginning, wherever in it', () => {
  fc.assert(fc.property(picture, place, fc.nat(20), (g, at, offset) => {
    const drawn = draw(g);
    const memory = pictureMemory(drawn.byteLength + 8 * offset);
    const Kind = KINDS[g.kind]!;
    const data = new Kind(memory.buffer as ArrayBuffer, memory.byteOffset + 8 * offset, drawn.length);
    data.set(drawn);
    check(quickened({ width: g.width, height: g.height, data, ceiling: null }), at);
  }), { numRuns: 30 });
});

it('leaves large pictures that lie elsewhere to JavaScript', () => {
  expect(quickened({ width: 8000, height: 2100, data: new Uint16Array(8000 * 2100), ceiling: null }).quick).toBeNull();
});
