import { type FrameQuads, findLike } from './frameQuads.js';
import { CODE_NUMBERS, type QuadStars, makeQuadMaker, quadsOf } from './skyQuads.js';

/** Looks up the quads of one star after the other among those of a frame. */
export interface LikeQuads {
  /** @param reach sides on the sky from a quad's side in the frame / reach to that · reach are meant */
  begin(stars: QuadStars, frame: FrameQuads, reach: number): void;
  /** Ranges of stars around those that are asked for next. */
  around(ranges: readonly number[]): void;
  /** Writes the hits of the quads whose faintest star is the given one; returns how many. */
  find(star: number): number;
  /** The frame's entry, and stars A to D: `HIT_WORDS` numbers a hit. Valid until the next `begin`. */
  readonly hits: Int32Array;
  /** Side on the sky, a chord: `HIT_SIDES` numbers a hit, the last of which it is. */
  readonly sides: Float64Array;
}

export const HIT_WORDS = 8;
export const HIT_SIDES = 4;
/** Hits of one star that are kept. */
export const MOST_HITS = 1 << 12;

/** For engines without WebAssembly, and for the test that both give the same hits. */
export function plainLikeQuads(): LikeQuads {
  const found = new Int32Array(MOST_HITS);
  const hits = new Int32Array(HIT_WORDS * MOST_HITS);
  const sides = new Float64Array(HIT_SIDES * MOST_HITS);
  let frame: FrameQuads, reach = 1;
  let maker: ReturnType<typeof makeQuadMaker>;
  let near: readonly number[] = [];
  return {
    hits, sides,
    begin(stars, quads, sidesMayDiffer) {
      [frame, reach, maker] = [quads, sidesMayDiffer, makeQuadMaker(stars)];
    },
    around(ranges) { near = ranges; },
    find(star) {
      const { codes, stars } = maker;
      const made = quadsOf(maker, star, near);
      let count = 0;
      for (let q = 0; q < made; q++) {
        const code = CODE_NUMBERS * q, side = codes[code + 4]!;
        const [cx, cy, dx, dy] = [codes[code]!, codes[code + 1]!, codes[code + 2]!, codes[code + 3]!];
        const like = findLike(frame, cx, cy, dx, dy, side / reach, side * reach, found);
        for (let n = 0; n < like && count < MOST_HITS; n++) {
          const hit = HIT_WORDS * count;
          hits[hit] = found[n]!;
          hits.set(stars.subarray(4 * q, 4 * q + 4), hit + 1);
          sides[HIT_SIDES * count++ + HIT_SIDES - 1] = side;
        }
      }
      return count;
    },
  };
}
