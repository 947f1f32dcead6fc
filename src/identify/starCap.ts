import { type Catalogue, catalogueSigma } from '../sky/catalogue.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';

/**
 * The catalogue stars around one pole as they stand at one moment, brightest first. Star numbers are the same at every
 * moment, so that what was learned in one frame serves for the next.
 */
export interface StarCap {
  readonly hemisphere: Hemisphere;
  readonly count: number;
  /** Catalogue number of each star. */
  readonly catalogue: Int32Array;
  /** 3·count apparent directions (length 1) in the frame in which poses are wanted; NaN for stars below the horizon. */
  readonly directions: Float64Array;
  readonly magnitudes: Float32Array;
  /** One-sigma error of a star's place at that moment, radians in each coordinate. */
  sigma(star: number): number;
  /** The refracted pole's direction in the same frame. */
  readonly pole: readonly [number, number, number];
}

/** What does not change from frame to frame: the stars of one hemisphere. */
export interface HemisphereStars {
  readonly hemisphere: Hemisphere;
  readonly of: Catalogue;
  readonly catalogue: Int32Array;
  /** 3·count ICRS directions. */
  readonly icrs: Float64Array;
  readonly magnitudes: Float32Array;
}

const J2000 = Date.UTC(2000, 0, 1, 12);
const JULIAN_YEAR = 365.25 * 86_400_000;

/** The catalogue's stars on one side of the equator, brightest first. */
export function hemisphereStars(catalogue: Catalogue, hemisphere: Hemisphere): HemisphereStars {
  const all = catalogue.directions;
  const numbers = new Int32Array(catalogue.count);
  let count = 0;
  for (let i = 0; i < catalogue.count; i++) if (all[3 * i + 2]! * hemisphere > 0) numbers[count++] = i;
  const icrs = new Float64Array(3 * count);
  const magnitudes = new Float32Array(count);
  for (let n = 0; n < count; n++) {
    const i = numbers[n]!;
    icrs[3 * n] = all[3 * i]!;
    icrs[3 * n + 1] = all[3 * i + 1]!;
    icrs[3 * n + 2] = all[3 * i + 2]!;
    magnitudes[n] = catalogue.magnitudes[i]!;
  }
  return { hemisphere, of: catalogue, catalogue: numbers.subarray(0, count), icrs, magnitudes };
}

/** The stars around a pole as `sky` shows them. */
export function starCap(stars: HemisphereStars, sky: LocalSky): StarCap {
  const directions = sky.toLocalAll(stars.icrs);
  const count = stars.magnitudes.length;
  if (sky.site !== null) {
    for (let n = 0; n < count; n++) {
      if (directions[3 * n + 2]! <= 0) directions.fill(NaN, 3 * n, 3 * n + 3);
    }
  }
  const [x, y, z] = sky.refractedPole(stars.hemisphere);
  const years = (sky.time.getTime() - J2000) / JULIAN_YEAR;
  return {
    hemisphere: stars.hemisphere, count, catalogue: stars.catalogue, directions, magnitudes: stars.magnitudes,
    sigma: (star) => catalogueSigma(stars.of, stars.catalogue[star]!, years),
    pole: [x, y, z],
  };
}
