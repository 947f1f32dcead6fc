import { type FitRound, P, type Pixels, pixelRule } from '../fitRound.js';
import { type Profile, type StarModel, perUnit } from '../profile.js';
import type { Stamp } from '../stamp.js';
import { FIT_ROUND_CODE } from './fitRoundCode.js';

/** The WebAssembly of fitRound.assembly.ts. */
interface FitRoundKernel {
  readonly memory: WebAssembly.Memory;
  fitRound(...numbers: number[]): number;
}

let compiled: WebAssembly.Module | null | undefined;

/** The kernel with memory of its own; null where the engine has no WebAssembly. */
function makeKernel(): FitRoundKernel | null {
  try {
    compiled ??= compiled === undefined ? new WebAssembly.Module(Uint8Array.from(atob(FIT_ROUND_CODE), (c) => c.charCodeAt(0))) : null;
    return compiled && new WebAssembly.Instance(compiled, { 'fitRound.assembly': { pow: Math.pow } }).exports as unknown as FitRoundKernel;
  } catch {
    compiled = null;
    return null;
  }
}

/** Places in the kernel's memory, in numbers of eight bytes. */
const MATRIX = 0;
const VECTOR = MATRIX + P * P;
const SQUARES = VECTOR + P;
const RULE = SQUARES + 2;
const TABLE = RULE + 8;

/** The same as `plainFitRound`, at full speed from the first call; null where the kernel can't run. */
export function quickFitRound(): FitRound | null {
  const kernel = makeKernel();
  if (!kernel) return null;
  const { memory } = kernel;
  let all = new Float64Array(memory.buffer);
  let profile: Profile | null = null;
  let entries = 0;
  let capacity = 0;
  let [matrix, vector] = [all, all];
  let pixels: Pixels & { count: number } = { count: 0, index: new Int32Array(0), values: all, light: all };
  let stampAt = 0, valuesAt = 0, lightAt = 0, indexAt = 0;
  let stamp: Stamp, model: StarModel;
  const layOut = (size: number): void => {
    stampAt = TABLE + 2 * entries;
    capacity = size;
    [valuesAt, lightAt, indexAt] = [stampAt + size, stampAt + 2 * size, stampAt + 3 * size];
    const missing = 8 * (indexAt + size) - memory.buffer.byteLength;
    if (missing > 0) memory.grow(Math.ceil(missing / 65536));
    all = new Float64Array(memory.buffer);
    matrix = all.subarray(MATRIX, VECTOR);
    vector = all.subarray(VECTOR, SQUARES);
    pixels = {
      count: 0, index: new Int32Array(memory.buffer, 8 * indexAt, size), values: all.subarray(valuesAt, lightAt),
      light: all.subarray(lightAt, indexAt),
    };
  };
  return {
    get pixels() { return pixels; },
    get matrix() { return matrix; },
    get vector() { return vector; },
    begin(nextStamp, nextModel) {
      [stamp, model] = [nextStamp, nextModel];
      const size = stamp.columns * stamp.rows;
      if (model.profile.values.length !== entries || capacity < size) {
        entries = model.profile.values.length;
        layOut(Math.max(1024, 2 * size));
        profile = null;
      }
      if (profile !== model.profile) {
        profile = model.profile;
        all.set(profile.values, TABLE);
        all.set(profile.slopes, TABLE + entries);
      }
      const { at, share } = pixelRule(model.shape);
      all.set(at, RULE);
      all.set(share, RULE + 3);
      all.set(stamp.values.subarray(0, size), stampAt);
    },
    run(fit, startX, startY, reach, noise) {
      const { shape, profile: { beta, c } } = model;
      const scale = Math.exp(-2 * fit.logWidth) / (shape.xx * shape.yy - shape.xy * shape.xy);
      matrix.fill(0);
      pixels.count = kernel.fitRound(
        8 * stampAt, stamp.columns, stamp.rows, stamp.left, stamp.top, fit.x, fit.y, startX, startY, reach,
        shape.yy * scale, -shape.xy * scale, shape.xx * scale, fit.peak, fit.sky, noise.sky * noise.sky, noise.perLight,
        8 * TABLE, entries, perUnit, beta, c, 8 * RULE, pixelRule(shape).at.length,
        8 * valuesAt, 8 * lightAt, 8 * indexAt, 8 * MATRIX, 8 * VECTOR,
      );
      return all[SQUARES]!;
    },
  };
}
