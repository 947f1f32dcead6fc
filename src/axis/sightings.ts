import { type Vector, cross, dot, scale, subtract, unit } from '../geometry/vector.js';
import type { IdentifiedStar } from '../identify/identifyFrame.js';

/** The stars of one frame for the joint fit. */
export interface FrameStars {
  readonly stars: readonly IdentifiedStar[];
  /** A pole in the frame's local directions: it relates the catalogue error of a star in one frame to that in the next. */
  readonly pole: Vector;
}

/** A part that no star error explains: pixels are not perfect squares, lenses not perfectly round. Pixels. */
const MODEL_FLOOR = 0.01;
/** All sightings, those of one catalogue star next to each other, in flat arrays: the fit passes over them many times. */
export interface Sightings {
  readonly count: number;
  readonly frame: Int32Array;
  /** Sightings of star g are first[g] … first[g + 1] - 1. */
  readonly first: Int32Array;
  /** Catalogue sigma of star g, radians. */
  readonly sigma: Float64Array;
  /** 1 where star g has a neighbour too close to separate, else 0. */
  readonly blended: Uint8Array;
  /** 9 numbers a sighting: local direction, tangent toward the pole, tangent at right angles to it. */
  readonly vectors: Float64Array;
  /** 3 numbers a sighting: x, y, variance of each, pixels. */
  readonly seen: Float64Array;
}

/** Groups the sightings of each catalogue star. */
export function collectSightings(frames: readonly FrameStars[]): Sightings {
  const byNumber = new Map<number, { frame: number; star: IdentifiedStar }[]>();
  frames.forEach(({ stars }, frame) => {
    for (const star of stars) {
      const group = byNumber.get(star.catalogue);
      if (group) group.push({ frame, star });
      else byNumber.set(star.catalogue, [{ frame, star }]);
    }
  });
  const count = frames.reduce((sum, { stars }) => sum + stars.length, 0);
  const s = {
    count,
    frame: new Int32Array(count),
    first: new Int32Array(byNumber.size + 1),
    sigma: new Float64Array(byNumber.size),
    blended: new Uint8Array(byNumber.size),
    vectors: new Float64Array(9 * count),
    seen: new Float64Array(3 * count),
  };
  let n = 0;
  let g = 0;
  for (const group of byNumber.values()) {
    s.sigma[g] = group[0]!.star.catalogueSigma;
    for (const { frame, star } of group) {
      const { direction, detection } = star;
      const pole = frames[frame]!.pole;
      const toPole = unit(subtract(pole, scale(direction, dot(pole, direction))));
      if (detection.blended) s.blended[g] = 1;
      s.frame[n] = frame;
      s.vectors.set(direction, 9 * n);
      s.vectors.set(toPole, 9 * n + 3);
      s.vectors.set(cross(direction, toPole), 9 * n + 6);
      s.seen[3 * n] = detection.x;
      s.seen[3 * n + 1] = detection.y;
      s.seen[3 * n + 2] = detection.sigma ** 2 + MODEL_FLOOR ** 2;
      n++;
    }
    s.first[++g] = n;
  }
  return s;
}
