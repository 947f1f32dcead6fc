import { CAUCHY } from '../../identify/cauchyLoss.js';
import { MAX_RADIAL_TERMS } from '../../identify/projection.js';
import { type Wasm, wasmMaker } from '../../numeric/wasm.js';
import { type Layout, frameTurns } from '../mountModel.js';
import type { Sightings } from '../sightings.js';
import { SUM, type StarPass } from '../starPass.js';
import { STAR_PASS_CODE } from './starPassCode.js';

/** The WebAssembly of starPass.assembly.ts. */
interface StarPassKernel {
  sumStars(...numbers: number[]): number;
  moveOffsets(...numbers: number[]): void;
}

const makeKernel = wasmMaker<StarPassKernel>(STAR_PASS_CODE, { 'starPass.assembly': { log1p: Math.log1p } });
let kernel: Wasm<StarPassKernel> | null = null;

/** The kernel with room for so many bytes: one after the other uses it. */
function kernelFor(bytes: number): Wasm<StarPassKernel> | null {
  if (kernel === null || kernel.memory.buffer.byteLength < bytes) kernel = makeKernel(2 * bytes);
  return kernel;
}

/** Numbers a frame: its rotation to the camera, then the turns by its own five unknowns. */
const A_FRAME = 9 + 15;
/** Places for the indexes of a frame's unknowns. */
const UNKNOWNS = 16;
/** Focal length, centre, side, radial and tangential terms. */
const LENS = 4 + MAX_RADIAL_TERMS + 2;

/**
 * The same as `plainStarPass`, to the last bit, at full speed from the first call; null where the kernel can't run. Its arrays are in the
 * kernel's memory: valid until the next is made.
 */
export function quickStarPass(sightings: Sightings, layout: Layout, startOffsets: Float64Array): StarPass | null {
  const { size } = layout;
  const { count, frame, first, sigma, vectors, seen } = sightings;
  const stars = sigma.length;
  const frameCount = frame.reduce((most, f) => Math.max(most, f + 1), 0);
  let bytes = 0;
  const room = (length: number, bytesEach = 8): number => {
    const at = bytes;
    bytes += 8 * Math.ceil((length * bytesEach) / 8);
    return at;
  };
  const at = {
    normal: room(size * size), right: room(size), sums: room(SUM.length), shown: room(stars), offsets: room(2 * stars),
    coupling: room(2 * size * stars), own: room(5 * stars), sigma: room(stars), vectors: room(9 * count), seen: room(3 * count),
    frames: room(A_FRAME * frameCount), lens: room(LENS), scratch: room(2 * UNKNOWNS), step: room(size),
    first: room(stars + 1, 4), frame: room(count, 4), unknowns: room(UNKNOWNS * frameCount, 4),
  };
  const wasm = kernelFor(bytes);
  if (!wasm) return null;
  const { buffer } = wasm.memory;
  const numbers = (start: number, length: number): Float64Array => new Float64Array(buffer, start, length);
  const whole = (start: number, length: number): Int32Array => new Int32Array(buffer, start, length);
  const normal = numbers(at.normal, size * size), right = numbers(at.right, size), sums = numbers(at.sums, SUM.length);
  const shown = numbers(at.shown, stars), offsets = numbers(at.offsets, 2 * stars), coupling = numbers(at.coupling, 2 * size * stars);
  const frames = numbers(at.frames, A_FRAME * frameCount), lensNumbers = numbers(at.lens, LENS), steps = numbers(at.step, size);
  const unknowns = whole(at.unknowns, UNKNOWNS * frameCount);
  offsets.set(startOffsets);
  numbers(at.sigma, stars).set(sigma);
  numbers(at.vectors, 9 * count).set(vectors);
  numbers(at.seen, 3 * count).set(seen);
  whole(at.first, stars + 1).set(first);
  whole(at.frame, count).set(frame);
  return {
    size, normal, right, shown, sums, offsets,
    run(model, bases, told = false) {
      normal.fill(0);
      right.fill(0);
      coupling.fill(0);
      sums.fill(0);
      let used = 0;
      for (let f = 0; f < frameCount; f++) {
        const turned = frameTurns(model, bases, layout, f);
        frames.set(turned.toCamera, A_FRAME * f);
        frames.set(turned.turns, A_FRAME * f + 9);
        unknowns.set(turned.unknowns, UNKNOWNS * f);
        used = turned.unknowns.length;
      }
      const { focalPixels, centreX, centreY, radial, mirrored, tangential = [0, 0] } = model.lens;
      lensNumbers.fill(0);
      lensNumbers.set([focalPixels, centreX, centreY, mirrored ? -1 : 1, ...radial]);
      lensNumbers.set(tangential, 4 + MAX_RADIAL_TERMS);
      return wasm.sumStars(
        stars, size, told ? 1 : 0, at.sigma, at.first, at.frame, at.vectors, at.seen, at.offsets, at.frames, at.unknowns, used, at.lens,
        layout.focal, layout.radialTerms, layout.middle, layout.tangential, at.normal, at.right, at.coupling, at.own, at.shown, at.sums,
        at.scratch, CAUCHY.scale ** 2,
      );
    },
    moveOffsets(step) {
      steps.set(step);
      wasm.moveOffsets(stars, size, at.coupling, at.own, at.step, at.offsets);
    },
  };
}
