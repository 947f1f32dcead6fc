import { HIT_SIDES, HIT_WORDS, type LikeQuads, MOST_HITS } from '../likeQuads.js';
import { LONGEST, SHORTEST } from '../skyQuads.js';
import { LIKE_QUADS_CODE } from './likeQuadsCode.js';

/** The WebAssembly of likeQuads.assembly.ts. */
interface LikeQuadsKernel {
  readonly memory: WebAssembly.Memory;
  takeStars(directions: number, count: number, rank: number, partners: number, shortestSquare: number, longestSquare: number): void;
  takeFrame(slots: number, bins: number, starts: number, fineBins: number, reached: number, reach: number): void;
  takeRoom(room: number, hits: number, most: number): void;
  gather(ranges: number, end: number, to: number): void;
  like(star: number): number;
}

let compiled: WebAssembly.Module | null | undefined;

/** The kernel with memory of its own; null where the engine has no WebAssembly. */
function makeKernel(): LikeQuadsKernel | null {
  try {
    compiled ??= compiled === undefined ? new WebAssembly.Module(Uint8Array.from(atob(LIKE_QUADS_CODE), (c) => c.charCodeAt(0))) : null;
    return compiled && new WebAssembly.Instance(compiled).exports as unknown as LikeQuadsKernel;
  } catch {
    compiled = null;
    return null;
  }
}

/** Bytes that the module keeps for itself at the beginning, and those of its working room. */
const OWN = 1024;
const ROOM = 16_384;
const MOST_RANGES = 1024;
const PAGE = 65536;
/** Bytes for a star among those that partners are taken from. */
const GATHERED = 20;
/** Slots begin where a line of a processor's memory does. */
const LINE = 64;

/** The same as `plainLikeQuads`, several times as fast; null where the kernel can't run. */
export function quickLikeQuads(): LikeQuads | null {
  const kernel = makeKernel();
  if (!kernel) return null;
  const { memory } = kernel;
  const hitsAt = OWN + ROOM;
  const rangesAt = hitsAt + 4 * HIT_WORDS * MOST_HITS;
  const dataAt = rangesAt + 8 * MOST_RANGES;
  let hits = new Int32Array(0), sides = new Float64Array(0), ranges = hits, gatheredAt = 0;
  return {
    get hits() { return hits; },
    get sides() { return sides; },
    begin(stars, frame, reach) {
      const { directions, rank, count, fieldWidth, partners } = stars;
      const slotsAt = whole(dataAt + 24 * count);
      const rankAt = slotsAt + 4 * frame.slots.length;
      const startsAt = rankAt + 4 * count;
      const reachedAt = startsAt + 4 * frame.start.length;
      gatheredAt = whole(reachedAt + 4 * frame.reached.length);
      const missing = gatheredAt + GATHERED * (count + 4) - memory.buffer.byteLength;
      if (missing > 0) memory.grow(Math.ceil(missing / PAGE));
      const { buffer } = memory;
      const places = new Float64Array(buffer, dataAt, 3 * count);
      for (let k = 0; k < 3; k++) for (let i = 0, at = k * count; i < count; i++) places[at + i] = directions[3 * i + k]!;
      new Float32Array(buffer, slotsAt).set(frame.slots);
      new Int32Array(buffer, rankAt).set(rank.subarray(0, count));
      new Int32Array(buffer, startsAt).set(frame.start);
      new Uint32Array(buffer, reachedAt).set(frame.reached);
      hits = new Int32Array(buffer, hitsAt, HIT_WORDS * MOST_HITS);
      sides = new Float64Array(buffer, hitsAt, HIT_SIDES * MOST_HITS);
      ranges = new Int32Array(buffer, rangesAt, 2 * MOST_RANGES);
      kernel.takeStars(dataAt, count, rankAt, partners, (SHORTEST * fieldWidth) ** 2, (LONGEST * fieldWidth) ** 2);
      kernel.takeFrame(slotsAt, frame.bins, startsAt, frame.fineBins, reachedAt, reach);
      kernel.takeRoom(OWN, hitsAt, MOST_HITS);
    },
    around(pairs) {
      ranges.set(pairs);
      kernel.gather(rangesAt, rangesAt + 4 * pairs.length, gatheredAt);
    },
    find: (star) => kernel.like(star),
  };
}

function whole(at: number): number {
  return Math.ceil(at / LINE) * LINE;
}
