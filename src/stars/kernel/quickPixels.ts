import type { Image, PixelArray } from '../../frames/frame.js';
import { type Wasm, wasmMaker } from '../../numeric/wasm.js';
import type { Picture, QuickPixels, QuickProbes } from '../picture.js';
import type { WindowSums } from '../windowed.js';
import { PIXELS_CODE } from './pixelsCode.js';

/** The WebAssembly of pixels.assembly.ts. */
interface PixelsKernel {
  takePicture(...numbers: number[]): void;
  takeMesh(...numbers: number[]): void;
  quantile(values: number, n: number, q: number, searched: number): number;
  cell(...numbers: number[]): number;
  levelAt(x: number, y: number): number;
  noiseAt(x: number, y: number): number;
  blockProbes(...numbers: number[]): number;
  matchedProbes(...numbers: number[]): void;
  probesOfPart(...numbers: number[]): number;
  windowSums(...numbers: number[]): number;
  climb(...numbers: number[]): number;
  adaptiveMoments(...numbers: number[]): number;
  ring(...numbers: number[]): number;
  cut(...numbers: number[]): void;
}

const makeKernel = wasmMaker<PixelsKernel>(PIXELS_CODE, {
  'pixels.assembly': { exp: Math.exp, log: Math.log, pow: Math.pow, hypot: Math.hypot },
});

/** Most numbers of a cell's samples or of probes, of a part's probes, and of a mesh's cells: more are left to JavaScript. */
const MOST_VALUES = 32_768;
const MOST_PROBES = 8192;
const MOST_CELLS = 16_384;
const RESULTS = 16;

/** Where things are in the kernel's memory, bytes; the compiler's own come first. */
const OUT = 1024;
const ROOM = OUT + 8 * RESULTS;
const HOPES = ROOM + 128;
const LEVELS = HOPES + 128;
const NOISES = LEVELS + 8 * MOST_CELLS;
const VALUES = NOISES + 8 * MOST_CELLS;
const OTHERS = VALUES + 8 * MOST_VALUES;
const PLAIN = OTHERS + 8 * MOST_VALUES;
const PIXELS = PLAIN + 8 * MOST_PROBES;
/** A larger picture that does not lie in a kernel's memory is not copied there. */
const MOST_COPIED = 2 ** 25;

const KINDS = [Uint8Array, Uint16Array, Int16Array, Uint32Array, Int32Array, Float32Array, Float64Array] as const;

/** Kernels by the memory that pictures may lie in. */
const kernels = new WeakMap<ArrayBufferLike, Wasm<PixelsKernel>>();
/** For pictures that are copied, one after the other. */
let copies: Wasm<PixelsKernel> | null = null;

/** So many bytes of memory for a picture, so that its pixels need not be copied; ordinary memory where the engine has no WebAssembly. */
export function pictureMemory(bytes: number): Uint8Array {
  const kernel = makeKernel(PIXELS + bytes);
  if (!kernel) return new Uint8Array(bytes);
  kernels.set(kernel.memory.buffer, kernel);
  return new Uint8Array(kernel.memory.buffer, PIXELS, bytes);
}

function kernelWith({ data }: Image): { kernel: Wasm<PixelsKernel>; address: number } | null {
  const there = kernels.get(data.buffer);
  if (there) return { kernel: there, address: data.byteOffset };
  if (data.byteLength > MOST_COPIED) return null;
  if (copies === null || copies.memory.buffer.byteLength < PIXELS + data.byteLength) copies = makeKernel(PIXELS + data.byteLength);
  if (!copies) return null;
  const Kind = data.constructor as new (buffer: ArrayBuffer, at: number, length: number) => PixelArray;
  new Kind(copies.memory.buffer, PIXELS, data.length).set(data);
  return { kernel: copies, address: PIXELS };
}

/**
 * For a picture that is not changed meanwhile. Valid until the next is made in the same memory. Null where the engine has no WebAssembly,
 * or the picture is large and lies elsewhere.
 */
function quickPixels(image: Image): QuickPixels | null {
  const found = kernelWith(image);
  if (!found) return null;
  const { kernel, address } = found;
  const { buffer } = kernel.memory;
  const out = new Float64Array(buffer, OUT, RESULTS);
  const kind = KINDS.findIndex((Kind) => image.data instanceof Kind);
  kernel.takePicture(address, kind, image.width, image.height, OUT, ROOM);
  const readSums = (sums: WindowSums, looked: number): void => {
    sums.light = out[0]!;
    sums.dx = out[1]!;
    sums.dy = out[2]!;
    sums.xx = out[3]!;
    sums.xy = out[4]!;
    sums.yy = out[5]!;
    sums.weight = out[6]!;
    sums.inside = out[7]!;
    sums.looked += looked;
  };
  let mesh: QuickPixels['mesh'] = null;
  const probes = (columns: number, count: number): QuickProbes => ({
    count,
    tails(left, top, right, bottom, medianSigma, least, low, high) {
      const n = kernel.probesOfPart(VALUES, columns, Math.floor(count / columns), left, top, right, bottom, medianSigma, OTHERS, PLAIN);
      if (n < least) return null;
      const tail = (at: number): number => kernel.quantile(at, n, high, n) - kernel.quantile(at, n, low, n);
      return { plain: tail(PLAIN), less: tail(OTHERS) };
    },
  });
  const hopesThere = new Float64Array(buffer, HOPES, 16);
  return {
    cell(left, top, right, bottom, stepX, stepY, least) {
      const count = kernel.cell(left, top, right, bottom, stepX, stepY, least, VALUES, OTHERS);
      return count === 0 || count < least ? null : { level: out[0]!, noise: out[1]!, difference: out[2]! };
    },
    mostSamples: MOST_VALUES,
    useMesh(next) {
      if (next.level.length > MOST_CELLS) return;
      mesh = next;
      new Float64Array(buffer, LEVELS, next.level.length).set(next.level);
      new Float64Array(buffer, NOISES, next.noise.length).set(next.noise);
      kernel.takeMesh(LEVELS, NOISES, next.columns, next.rows, next.cellWidth, next.cellHeight);
    },
    get mesh() { return mesh; },
    levelAt: kernel.levelAt,
    blockProbes(block, step, across, down, columns, count) {
      if (count > MOST_PROBES || !mesh) return null;
      return probes(columns, kernel.blockProbes(block, step, across, down, columns, VALUES));
    },
    matchedProbes(step, columns, count, { xx, xy, yy }) {
      if (count > MOST_PROBES || !mesh) return null;
      kernel.matchedProbes(step, columns, count, xx, xy, yy, VALUES);
      return probes(columns, count);
    },
    windowSums(x, y, { xx, xy, yy }, sky, ceiling, sums) {
      readSums(sums, kernel.windowSums(x, y, xx, xy, yy, sky, ceiling));
    },
    climb(x, y, { xx, xy, yy }, longest, sky, sums, ceiling, least, hopes) {
      hopesThere.set(hopes);
      const arrived = kernel.climb(x, y, xx, xy, yy, longest, sky, ceiling, least, HOPES, hopes.length);
      readSums(sums, out[8]!);
      return arrived ? { x: out[9]!, y: out[10]! } : null;
    },
    adaptiveMoments(x, y, start, sky, sums) {
      const found = kernel.adaptiveMoments(x, y, start, sky);
      readSums(sums, out[8]!);
      return found ? { x: out[9]!, y: out[10]!, xx: out[11]!, xy: out[12]!, yy: out[13]! } : null;
    },
    ring(x, y, inner, outer, left, right, top, bottom, step, most) {
      const pixels = kernel.ring(x, y, inner, outer, left, right, top, bottom, step, VALUES, most);
      return pixels < 12 ? { level: NaN, noise: NaN, pixels } : { level: out[0]!, noise: out[1]!, pixels };
    },
    cut(left, right, top, bottom, x, y, sky, slope, ceiling, values) {
      const count = Math.max(0, right - left + 1) * Math.max(0, bottom - top + 1);
      if (count > MOST_VALUES) return false;
      kernel.cut(left, right, top, bottom, x, y, sky, slope.x, slope.y, ceiling, VALUES);
      values.set(new Float64Array(buffer, VALUES, count));
      return true;
    },
  };
}

/** A picture with functions over its pixels that are quick from the first call, where the engine has them. */
export function quickened(image: Image): Picture {
  return { ...image, quick: quickPixels(image) };
}
