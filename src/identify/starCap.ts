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
  /**
   * 3·count apparent directions (length 1) in the frame in which poses are wanted; zero for stars below the horizon, and
   * for those not yet asked for with {@link StarCap.reveal}.
   */
  readonly directions: Float64Array;
  readonly magnitudes: Float32Array;
  /**
   * Computes the directions of all stars within `radius` (radians) of the pole of date, if that was not done before.
   * Returns the numbers of all stars whose directions are known, brightest first.
   */
  reveal(radius: number): Int32Array;
  /** Writes the ICRS direction of a star to out[at] … out[at + 2]. */
  icrs(star: number, out: Float64Array, at: number): void;
  /** One-sigma error of a star's place at that moment, radians in each coordinate. */
  sigma(star: number): number;
  /** The refracted pole's direction in the same frame. */
  readonly pole: readonly [number, number, number];
}

/** What does not change from frame to frame: the stars of one hemisphere. */
export interface HemisphereStars {
  readonly hemisphere: Hemisphere;
  readonly of: Catalogue;
  /** Catalogue number of each star. */
  readonly catalogue: Int32Array;
  readonly magnitudes: Float32Array;
  /** The stars' numbers by distance from the ICRS pole, ring after ring, brightest first in each. */
  readonly rings: readonly Int32Array[];
}

/** Outer radii of the rings but the last, radians. */
const RINGS = [2.2, 3.5, 5, 7, 14, 26].map((degrees) => degrees * DEGREE);
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
  const magnitudes = new Float32Array(count);
  const rings = Array.from(sizes, (size) => new Int32Array(size));
  const filled = new Int32Array(rings.length);
  for (let n = 0; n < count; n++) {
    magnitudes[n] = catalogue.magnitudes[numbers[n]!]!;
    const ring = ringOf[n]!;
    rings[ring]![filled[ring]!++] = n;
  }
  return { hemisphere, of: catalogue, catalogue: numbers.subarray(0, count), magnitudes, rings };
}

/** The stars around a pole as `sky` shows them. */
export function starCap(stars: HemisphereStars, sky: LocalSky): StarCap {
  const count = stars.magnitudes.length;
  const all = stars.of.directions;
  const directions = new Float64Array(3 * count);
  const [x, y, z] = sky.refractedPole(stars.hemisphere);
  const years = (sky.time.getTime() - J2000) / JULIAN_YEAR;
  const margin = MOVED + PRECESSION * Math.abs(years);
  let rings = 0;
  let known: Int32Array = new Int32Array(0);
  const place = (ring: Int32Array): void => {
    const local = new Float64Array(3 * ring.length);
    for (let k = 0; k < ring.length; k++) {
      const at = 3 * stars.catalogue[ring[k]!]!;
      local[3 * k] = all[at]!;
      local[3 * k + 1] = all[at + 1]!;
      local[3 * k + 2] = all[at + 2]!;
    }
    sky.toLocalAll(local, local);
    for (let k = 0; k < ring.length; k++) {
      if (sky.site !== null && local[3 * k + 2]! <= 0) continue;
      const at = 3 * ring[k]!;
      directions[at] = local[3 * k]!;
      directions[at + 1] = local[3 * k + 1]!;
      directions[at + 2] = local[3 * k + 2]!;
    }
  };
  return {
    hemisphere: stars.hemisphere, count, catalogue: stars.catalogue, directions, magnitudes: stars.magnitudes, pole: [x, y, z],
    reveal: (radius) => {
      for (; rings < stars.rings.length && (rings === 0 || RINGS[rings - 1]! <= radius + margin); rings++) {
        const ring = stars.rings[rings]!;
        place(ring);
        known = merge(known, ring);
      }
      return known;
    },
    icrs: (star, out, at) => {
      const from = 3 * stars.catalogue[star]!;
      out[at] = all[from]!;
      out[at + 1] = all[from + 1]!;
      out[at + 2] = all[from + 2]!;
    },
    sigma: (star) => catalogueSigma(stars.of, stars.catalogue[star]!, years),
  };
}

/** Two rising lists as one. */
function merge(a: Int32Array, b: Int32Array): Int32Array {
  if (a.length === 0) return b;
  const out = new Int32Array(a.length + b.length);
  for (let i = 0, j = 0, n = 0; n < out.length; n++) {
    out[n] = j >= b.length || (i < a.length && a[i]! < b[j]!) ? a[i++]! : b[j++]!;
  }
  return out;
}
