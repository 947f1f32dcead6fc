import { describe, expect, it } from 'vitest';
import { type Vector, angleBetween } from '../../src/geometry/vector.js';
import { makeFrameQuads } from '../../src/identify/frameQuads.js';
import { quickLikeQuads } from '../../src/identify/kernel/quickLikeQuads.js';
import { HIT_SIDES, HIT_WORDS, type LikeQuads, plainLikeQuads } from '../../src/identify/likeQuads.js';
import { quadChoices } from '../../src/identify/quadChoices.js';
import type { QuadStars } from '../../src/identify/skyQuads.js';
import { makeRandom } from '../../src/simulate/random.js';
import type { SkyStars } from '../../src/sky/catalogueSky.js';
import { quadStars } from './quadStars.js';

/** Stars all over the sky, brightest first. */
function skyOf(count: number, seed: string): SkyStars {
  const random = makeRandom(seed);
  const directions = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) {
    const z = 2 * random.uniform() - 1, turn = 2 * Math.PI * random.uniform(), r = Math.sqrt(1 - z * z);
    directions.set([r * Math.cos(turn), r * Math.sin(turn), z], 3 * i);
  }
  return { count, directions, numbers: new Int32Array(count), magnitudes: new Float32Array(count) };
}

/** Every hit of every star, as numbers. */
function allHits(like: LikeQuads, stars: QuadStars): number[][] {
  const found: number[][] = [];
  for (let star = 0; star < stars.count; star++) {
    like.around(stars.grid.around(stars.grid.cellOf[stars.rank[star]!]!));
    const count = like.find(star);
    for (let h = 0; h < count; h++) {
      found.push([...like.hits.subarray(HIT_WORDS * h, HIT_WORDS * h + 5), like.sides[HIT_SIDES * h + HIT_SIDES - 1]!]);
    }
  }
  return found;
}

describe('quads like those of a frame', () => {
  it.each([[0.35, 12], [0.9, 12]])('are the same in WebAssembly and in JavaScript: fields %f rad wide, %i stars', (fieldWidth, perCell) => {
    const stars = quadStars(skyOf(3000, `like ${fieldWidth}`), fieldWidth, { starsPerCell: perCell, tried: 200_000 });
    // What a frame around one of the stars shows: those near it, in a camera that looks there.
    const place = (i: number): Vector => [...stars.directions.subarray(3 * i, 3 * i + 3)] as unknown as Vector;
    const near = [...Array(stars.count).keys()].map((i) => [i, angleBetween(place(i), place(0))] as const)
      .sort((a, b) => a[1] - b[1]).slice(0, 12).map(([i]) => i);
    const rays = Float64Array.from(near.flatMap((i) => [...stars.directions.subarray(3 * i, 3 * i + 3)]));
    const frame = makeFrameQuads(rays, quadChoices([{ spots: Int32Array.from(near.keys()), from: 0 }]), {
      shortest: 0.1 * fieldWidth, longest: 0.8 * fieldWidth, tolerance: 0.05, spotError: 1e-4, parities: [false, true],
    });
    const [plain, quick] = [plainLikeQuads(), quickLikeQuads()!];
    for (const like of [plain, quick]) like.begin(stars, frame, 1.2);
    const hits = allHits(plain, stars);
    expect(hits.length).toBeGreaterThan(30);
    expect(allHits(quick, stars)).toEqual(hits);
    // Some of them are the very stars of the frame, at their very size.
    const true_ = hits.filter(([entry, , , , , side]) => Math.abs(frame.sides[entry!]! / side! - 1) < 1e-9);
    expect(true_.length).toBeGreaterThan(3);
    // Begun again with other stars, nothing is left of the first.
    const others = quadStars(skyOf(500, 'others'), fieldWidth, { starsPerCell: perCell, tried: 10_000 });
    for (const like of [plain, quick]) like.begin(others, frame, 1.5);
    expect(allHits(quick, others)).toEqual(allHits(plain, others));
  });
});
