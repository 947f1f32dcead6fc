import { type Wasm, wasmMaker } from '../../numeric/wasm.js';
import { P, type Pixels, type WholeFit, pixelRule } from '../fitRound.js';
import { type Profile, perUnit } from '../profile.js';
import type { Stamp } from '../stamp.js';
import type { Shape } from '../windowed.js';
import { FIT_CODE } from './fitCode.js';

/** The WebAssembly of fit.assembly.ts. */
interface FitKernel {
  fitStar(...numbers: number[]): number;
  subtract(...numbers: number[]): void;
}

const makeKernel = wasmMaker<FitKernel>(FIT_CODE, { 'fit.assembly': { pow: Math.pow, exp: Math.exp } });

/** Places in the kernel's memory, in numbers of eight bytes; the compiler's own come first. */
const STATE = 128;
const MATRIX = STATE + 10;
const VECTOR = MATRIX + P * P;
const RULE = VECTOR + P + 1;
const TABLE = RULE + 8;

let only: WholeFit | null | undefined;

/**
 * The same as `fitStar` with `plainFitRound`, to the last bit, at full speed from the first call; null where the kernel can't run. There is
 * one, whose memory all fits share one after the other.
 */
export function quickFit(): WholeFit | null {
  return only === undefined ? (only = make()) : only;
}

function make(): WholeFit | null {
  let entries = 0, capacity = 0;
  const first = makeKernel(8 * TABLE);
  if (!first) return null;
  let kernel: Wasm<FitKernel> = first;
  let all = new Float64Array(0), state = all;
  let profile: Profile | null = null;
  let pixels: Pixels & { count: number } = { count: 0, index: new Int32Array(0), values: all, light: all };
  let stampAt = 0, valuesAt = 0, lightAt = 0, indexAt = 0;
  /** Memory for stamps of so many pixels. */
  const layOut = (size: number): void => {
    stampAt = TABLE + 2 * entries;
    capacity = size;
    [valuesAt, lightAt, indexAt] = [stampAt + size, stampAt + 2 * size, stampAt + 3 * size];
    const bytes = 8 * (indexAt + size);
    if (kernel.memory.buffer.byteLength < bytes) kernel = makeKernel(bytes) ?? noMemory();
    const { buffer } = kernel.memory;
    all = new Float64Array(buffer);
    state = all.subarray(STATE, MATRIX);
    pixels = {
      count: 0, index: new Int32Array(buffer, 8 * indexAt, size), values: all.subarray(valuesAt, lightAt),
      light: all.subarray(lightAt, indexAt),
    };
  };
  /** Puts a stamp and a profile into the kernel's memory. */
  const take = (stamp: Stamp, next: Profile): Profile => {
    const size = stamp.columns * stamp.rows;
    if (next.values.length !== entries || capacity < size) {
      entries = next.values.length;
      layOut(Math.max(1024, 2 * size));
      profile = null;
    }
    if (profile !== next) {
      profile = next;
      all.set(profile.values, TABLE);
      all.set(profile.slopes, TABLE + entries);
    }
    all.set(stamp.values.subarray(0, size), stampAt);
    return profile;
  };
  const takeRule = (shape: Shape): number => {
    const { at, share } = pixelRule(shape);
    all.set(at, RULE);
    all.set(share, RULE + 3);
    return at.length;
  };
  return {
    kind: 'whole',
    fit(stamp, { shape, profile: next }, noise, fit, { reach, widthSpread, skySpread }) {
      const profile = take(stamp, next);
      const points = takeRule(shape);
      state[0] = fit.x;
      state[1] = fit.y;
      state[2] = fit.peak;
      state[3] = fit.sky;
      state[4] = fit.logWidth;
      state[5] = fit.sigmaX;
      state[6] = fit.sigmaY;
      state[7] = fit.chi2;
      pixels.count = kernel.fitStar(
        8 * STATE, 8 * stampAt, stamp.columns, stamp.rows, stamp.left, stamp.top, shape.xx, shape.xy, shape.yy, reach, widthSpread,
        skySpread, noise.sky, noise.perLight, Math.pow(shape.xx * shape.yy - shape.xy * shape.xy, 0.25), 8 * TABLE, entries, perUnit,
        profile.beta, profile.c, 8 * RULE, points, 8 * valuesAt, 8 * lightAt, 8 * indexAt, 8 * MATRIX, 8 * VECTOR,
      );
      fit.x = state[0];
      fit.y = state[1];
      fit.peak = state[2];
      fit.sky = state[3];
      fit.logWidth = state[4];
      fit.sigmaX = state[5];
      fit.sigmaY = state[6];
      fit.chi2 = state[7];
      fit.pixels = pixels.count;
      fit.settled = state[9] === 1;
      return pixels;
    },
    subtract(stamp, { shape, profile: next }, star) {
      const { beta, c } = take(stamp, next);
      kernel.subtract(
        8 * stampAt, stamp.columns, stamp.rows, stamp.left, stamp.top, star.x, star.y, star.peak, shape.xx, shape.xy, shape.yy,
        star.logWidth, beta, c, 8 * RULE, takeRule(shape),
      );
      const size = stamp.columns * stamp.rows;
      stamp.values.set(all.subarray(stampAt, stampAt + size));
    },
  };
}

function noMemory(): never {
  throw new RangeError('There is no memory for a star of so many pixels.');
}
