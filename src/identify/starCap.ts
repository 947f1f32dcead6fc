import { DEGREE } from '../geometry/angle.js';
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
  /** 3·count ICRS directions. */
  readonly icrs: Float64Array;
  /**
   * 3·count apparent directions (length 1) in the frame in which poses are wanted; NaN for stars below the horizon, and
   * for those not yet asked for with {@link StarCap.reveal}.
   */
  readonly directions: Float64Array;
  readonly magnitudes: Float32Array;
  /** Computes the directions of all stars within `radius` (radians) of the pole of date, if that was not done before. */
  reveal(radius: number): void;
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
  /** The same stars by distance from the ICRS pole. */
  readonly rings: readonly Ring[];
}

/** Stars between two circles around the pole: their numbers, and 3·n ICRS directions. */
interface Ring {
  readonly inner: number;
  readonly stars: Int32Array;
  readonly icrs: Float64Array;
}

/** Outer radii of the rings but the last, radians. */
const RINGS = [3.6, 7, 14, 26].map((degrees) => degrees * DEGREE);
const J2000 = Date.UTC(2000, 0, 1, 12);
const JULIAN_YEAR = 365.25 * 86_400_000;
/** What refraction and aberration move a star, with room to spare, and what precession moves the pole in a year. */
const MOVED = 0.4 * DEGREE;
const PRECESSION = 0.0056 * DEGREE;

/** The catalogue's stars on one side of the equator, brightest first. */
export function hemisphereStars(catalogue: Catalogue, hemisphere: Hemisphere): HemisphereStars {
  const all = catalogue.directions;
  const bounds = RINGS.map(Math.cos);
  const numbers = new Int32Array(catalogue.count);
  const ringOf = new Uint8Array(catalogue.count);
  const sizes = new Int32Array(RINGS.length + 1);
  let count = 0;
  for (let i = 0; i < catalogue.count; i++) {
    const z = all[3 * i + 2]! * hemisphere;
    if (z <= 0) continue;
    let ring = 0;
    while (ring < bounds.length && z < bounds[ring]!) ring++;
    sizes[ring]!++;
    ringOf[count] = ring;
    numbers[count++] = i;
  }
  const icrs = new Float64Array(3 * count);
  const magnitudes = new Float32Array(count);
  const rings: Ring[] = Array.from(sizes, (size, r) => ({
    inner: r === 0 ? 0 : RINGS[r - 1]!, stars: new Int32Array(size), icrs: new Float64Array(3 * size),
  }));
  const filled = new Int32Array(rings.length);
  for (let n = 0; n < count; n++) {
    const i = 3 * numbers[n]!;
    const x = all[i]!, y = all[i + 1]!, z = all[i + 2]!;
    icrs[3 * n] = x;
    icrs[3 * n + 1] = y;
    icrs[3 * n + 2] = z;
    magnitudes[n] = catalogue.magnitudes[numbers[n]!]!;
    const ring = rings[ringOf[n]!]!;
    const k = filled[ringOf[n]!]!++;
    ring.stars[k] = n;
    ring.icrs[3 * k] = x;
    ring.icrs[3 * k + 1] = y;
    ring.icrs[3 * k + 2] = z;
  }
  return { hemisphere, of: catalogue, catalogue: numbers.subarray(0, count), icrs, magnitudes, rings };
}

/** The stars around a pole as `sky` shows them. */
export function starCap(stars: HemisphereStars, sky: LocalSky): StarCap {
  const count = stars.magnitudes.length;
  const directions = new Float64Array(3 * count).fill(NaN);
  const [x, y, z] = sky.refractedPole(stars.hemisphere);
  const years = (sky.time.getTime() - J2000) / JULIAN_YEAR;
  const margin = MOVED + PRECESSION * Math.abs(years);
  let revealed = 0;
  const reveal = (radius: number): void => {
    for (; revealed < stars.rings.length && stars.rings[revealed]!.inner <= radius + margin; revealed++) {
      const ring = stars.rings[revealed]!;
      const local = sky.toLocalAll(ring.icrs);
      for (let k = 0; k < ring.stars.length; k++) {
        if (sky.site !== null && local[3 * k + 2]! <= 0) continue;
        const at = 3 * ring.stars[k]!;
        directions[at] = local[3 * k]!;
        directions[at + 1] = local[3 * k + 1]!;
        directions[at + 2] = local[3 * k + 2]!;
      }
    }
  };
  return {
    hemisphere: stars.hemisphere, count, catalogue: stars.catalogue, icrs: stars.icrs, directions, magnitudes: stars.magnitudes,
    reveal, pole: [x, y, z],
    sigma: (star) => catalogueSigma(stars.of, stars.catalogue[star]!, years),
  };
}
