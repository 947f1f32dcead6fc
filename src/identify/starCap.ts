import { DEGREE } from '../geometry/angle.js';
import type { Rotation } from '../geometry/rotation.js';
import { type Vector, angleBetween, cross, unit } from '../geometry/vector.js';
import { CELL_REACH, cellAxes, cellsAround } from '../sky/catalogue/cells.js';
import type { SkyCatalogue } from '../sky/catalogueSky.js';
import { type Catalogue, catalogueSigma } from '../sky/catalogue.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';

/**
 * The catalogue stars around one direction, usually a pole, at one time, brightest first. Star numbers are the same at every time, so that
 * what was learned from one frame can be used for the next.
 */
export interface StarCap {
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
   * Computes the directions of all stars within `radius` (radians) of the centre, if that was not done before.
   * Returns the numbers of all stars whose directions are known, brightest first.
   */
  reveal(radius: number): Int32Array;
  /**
   * Writes the catalogue direction of a star to out[at] … out[at + 2], in a frame whose third axis is the cap's: all its
   * stars are on one side of that frame's equator.
   */
  fixed(star: number, out: Float64Array, at: number): void;
  /** One-sigma error of a star's place at that time, radians in each coordinate. */
  sigma(star: number): number;
  /** Apparent direction of the middle of the cap, in the frame of the directions: the refracted pole, if it is a pole's. */
  readonly centre: Vector;
  /** Distance from there within which frames are searched, radians. */
  readonly reach: number;
}

/** What does not change from frame to frame: the stars around one direction. */
export interface CapStars {
  /** The pole in the middle, or an ICRS direction that is not a pole. */
  readonly middle: Hemisphere | Vector;
  readonly reach: number;
  /** Catalogue number of each star. */
  readonly catalogue: Int32Array;
  /** ICRS directions, and at which of them each star's is. */
  readonly places: Float64Array;
  readonly placeOf: Int32Array;
  readonly magnitudes: Float32Array;
  /** The stars' numbers by distance from the middle, ring after ring, brightest first in each. */
  readonly rings: readonly Int32Array[];
  /** One-sigma error of a star's place, radians in each coordinate, that many years after J2000. */
  sigma(star: number, years: number): number;
}

/** Frames are searched this near to a pole, and this near to where they are said to be, radians. */
const POLAR_REACH = 12 * DEGREE;
export const HINT_REACH = 15 * DEGREE;

/** Outer radii of the rings but the last, radians. */
const RINGS = [2.2, 3.5, 5, 7, 14, 26].map((degrees) => degrees * DEGREE);
const J2000 = Date.UTC(2000, 0, 1, 12);
const JULIAN_YEAR = 365.25 * 86_400_000;
/** How far refraction and aberration move a star, with a margin, and how far precession moves the pole in a year. */
const MOVED = 0.4 * DEGREE;
const PRECESSION = 0.0056 * DEGREE;

/** Julian years from J2000. */
export function yearsSince2000(time: Date): number {
  return (time.getTime() - J2000) / JULIAN_YEAR;
}

/** The catalogue's stars on one side of the equator, brightest first. */
export function hemisphereStars(catalogue: Catalogue, hemisphere: Hemisphere): CapStars {
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
  const own = numbers.subarray(0, count);
  return {
    middle: hemisphere, reach: POLAR_REACH, catalogue: own, places: all, placeOf: own, magnitudes, rings,
    sigma: (star, years) => catalogueSigma(catalogue, own[star]!, years),
  };
}

/**
 * The stars around any direction (ICRS), at a time.
 *
 * @param reach distance from the middle within which frames will be searched, radians
 * @param faintest magnitude limit at a distance (radians) from the middle
 * @param radius beyond which none are wanted, less than a quarter turn
 */
export function regionStars(
  catalogue: SkyCatalogue, middle: Vector, reach: number, radius: number, faintest: (distance: number) => number, time: Date,
): CapStars {
  const cells = cellsAround(middle, radius);
  const limits = Float64Array.from(cells, (cell) => faintest(Math.max(0, angleBetween(middle, cellAxes(cell).middle) - CELL_REACH)));
  const stars = catalogue.collect(cells, limits, yearsSince2000(time));
  const rings = Array.from({ length: RINGS.length + 1 }, (): number[] => []);
  const bounds = RINGS.map(Math.cos);
  const [x, y, z] = middle;
  for (let n = 0; n < stars.count; n++) {
    const near = stars.directions[3 * n]! * x + stars.directions[3 * n + 1]! * y + stars.directions[3 * n + 2]! * z;
    let ring = 0;
    while (ring < bounds.length && near < bounds[ring]!) ring++;
    rings[ring]!.push(n);
  }
  return {
    middle, reach, catalogue: stars.numbers, places: stars.directions, magnitudes: stars.magnitudes,
    placeOf: Int32Array.from({ length: stars.count }, (_, n) => n),
    rings: rings.map((ring) => Int32Array.from(ring)),
    sigma: (star, years) => catalogue.sigma(stars.numbers[star]!, stars.magnitudes[star]!, years),
  };
}

/** The stars of a cap in the sky of `sky`. */
export function starCap(stars: CapStars, sky: LocalSky): StarCap {
  const count = stars.magnitudes.length;
  const all = stars.places;
  const directions = new Float64Array(3 * count);
  const { middle } = stars;
  const centre = typeof middle === 'number' ? sky.refractedPole(middle) : sky.toLocal(middle);
  const upright = typeof middle === 'number' ? null : turnedUp(middle);
  const years = yearsSince2000(sky.time);
  const margin = MOVED + PRECESSION * Math.abs(years);
  let rings = 0;
  let known: Int32Array = new Int32Array(0);
  const place = (ring: Int32Array): void => {
    const local = new Float64Array(3 * ring.length);
    for (let k = 0; k < ring.length; k++) {
      const at = 3 * stars.placeOf[ring[k]!]!;
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
    count, catalogue: stars.catalogue, directions, magnitudes: stars.magnitudes, centre, reach: stars.reach,
    reveal: (radius) => {
      for (; rings < stars.rings.length && (rings === 0 || RINGS[rings - 1]! <= radius + margin); rings++) {
        const ring = stars.rings[rings]!;
        place(ring);
        known = merge(known, ring);
      }
      return known;
    },
    fixed: (star, out, at) => {
      const from = 3 * stars.placeOf[star]!;
      for (let row = 0; row < 3; row++) {
        out[at + row] = upright === null ? all[from + row]!
          : upright[3 * row]! * all[from]! + upright[3 * row + 1]! * all[from + 1]! + upright[3 * row + 2]! * all[from + 2]!;
      }
    },
    sigma: (star) => stars.sigma(star, years),
  };
}

/** A rotation that makes a direction the third axis. */
function turnedUp(direction: Vector): Rotation {
  const side = unit(cross(Math.abs(direction[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0], direction));
  const other = cross(direction, side);
  return [...side, ...other, ...direction];
}

/** Merges two ascending lists. */
function merge(a: Int32Array, b: Int32Array): Int32Array {
  if (a.length === 0) return b;
  const out = new Int32Array(a.length + b.length);
  for (let i = 0, j = 0, n = 0; n < out.length; n++) {
    out[n] = j >= b.length || (i < a.length && a[i]! < b[j]!) ? a[i++]! : b[j++]!;
  }
  return out;
}
