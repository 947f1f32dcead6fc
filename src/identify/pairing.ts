import type { Rotation } from '../geometry/rotation.js';
import { median } from '../numeric/median.js';
import type { DetectedStar } from '../stars/star.js';
import type { Lens } from './lens.js';
import { type PlaceGrid, makePlaceGrid, nearestPlace } from './placeGrid.js';
import { PROJECTION, project } from './projection.js';
import type { StarCap } from './starCap.js';

/** The most sigmas by which a star may be off. */
const FARTHEST = 3.5;
/** A larger difference in brightness means that it is another star, magnitudes. */
const MAGNITUDE_TOLERANCE = 1.5;
/** A neighbour fainter by more than this does not move the centroid noticeably, magnitudes. */
const NEIGHBOUR_MATTERS = 3;
/** With fewer pairs than this the brightness of a star of a given magnitude is unknown. */
const FEWEST_FOR_BRIGHTNESS = 5;

/** The detections of one picture as flat arrays. */
export interface Detections {
  readonly width: number;
  readonly height: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** One-sigma error in each coordinate, pixels. */
  readonly sigma: Float64Array;
  /** -2.5 log10 of the flux. */
  readonly instrumental: Float64Array;
  readonly saturated: Uint8Array;
  /** Median width of the spots at half their height, pixels. */
  readonly fwhm: number;
  readonly grid: PlaceGrid;
}

/** The stars that may be in the picture, brightest first. */
export interface FieldStars {
  /** Cap numbers. */
  readonly numbers: Int32Array;
  readonly magnitudes: Float32Array;
  /** Errors of their catalogue places, pixels. */
  readonly sigmas: Float64Array;
}

/** Where stars should be, pixels; NaN outside the picture. */
export interface Places {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/** Which detection shows which star: entry n of `spots` shows entry n of `stars` (indexes in the list of field stars). */
export interface Pairing {
  readonly spots: Int32Array;
  readonly stars: Int32Array;
}

/** The first `most` detections. */
export function toDetections(detections: readonly DetectedStar[], most: number, width: number, height: number): Detections {
  const count = Math.min(detections.length, most);
  const used = detections.slice(0, count);
  const x = Float64Array.from(used, (d) => d.x), y = Float64Array.from(used, (d) => d.y);
  return {
    width, height, x, y,
    sigma: Float64Array.from(used, (d) => d.sigma),
    instrumental: Float64Array.from(used, (d) => -2.5 * Math.log10(Math.max(1e-9, d.flux))),
    saturated: Uint8Array.from(used, (d) => (d.saturated ? 1 : 0)),
    fwhm: median(used.map((d) => d.fwhm)) || 2,
    grid: makePlaceGrid(x, y, width, height, Math.max(8, Math.sqrt((width * height) / Math.max(1, count)))),
  };
}

/** @param numbers cap numbers, brightest first */
export function toFieldStars(cap: StarCap, numbers: Int32Array, lens: Lens): FieldStars {
  return {
    numbers,
    magnitudes: Float32Array.from(numbers, (star) => cap.magnitudes[star]!),
    sigmas: Float64Array.from(numbers, (star) => cap.sigma(star) * lens.focalPixels),
  };
}

/** Where the stars should be in a picture taken with this pose and lens. */
export function placesOf(field: FieldStars, cap: StarCap, pose: Rotation, lens: Lens, width: number, height: number): Places {
  const count = field.numbers.length;
  const px = new Float64Array(count).fill(NaN), py = new Float64Array(count).fill(NaN);
  const place = new Float64Array(PROJECTION.length);
  const d = cap.directions;
  for (let n = 0; n < count; n++) {
    const s = 3 * field.numbers[n]!;
    const x = d[s]!, y = d[s + 1]!, z = d[s + 2]!;
    const seen = project(lens,
      pose[0] * x + pose[3] * y + pose[6] * z,
      pose[1] * x + pose[4] * y + pose[7] * z,
      pose[2] * x + pose[5] * y + pose[8] * z, place);
    if (!seen || !(place[0]! >= 0 && place[1]! >= 0 && place[0]! <= width - 1 && place[1]! <= height - 1)) continue;
    px[n] = place[0]!;
    py[n] = place[1]!;
  }
  return { x: px, y: py };
}

/** 1 for each star with another one so near that the picture shows one spot for both. */
export function crowdedStars(field: FieldStars, places: Places, seen: Detections): Uint8Array {
  const { x: px, y: py } = places;
  const crowded = new Uint8Array(field.numbers.length);
  const reach = Math.max(2, 1.5 * seen.fwhm);
  const grid = makePlaceGrid(px, py, seen.width, seen.height, Math.max(16, reach));
  for (let n = 0; n < px.length; n++) {
    if (!(px[n]! >= 0)) continue;
    const column = Math.floor(px[n]! / grid.cell), row = Math.floor(py[n]! / grid.cell);
    for (let r = Math.max(0, row - 1); r <= Math.min(grid.rows - 1, row + 1); r++) {
      const from = grid.start[r * grid.columns + Math.max(0, column - 1)]!;
      const to = grid.start[r * grid.columns + Math.min(grid.columns - 1, column + 1) + 1]!;
      for (let m = from; m < to; m++) {
        const k = grid.members[m]!;
        // Each pair once: k is the fainter one.
        if (k <= n) continue;
        const dx = px[k]! - px[n]!, dy = py[k]! - py[n]!;
        if (dx * dx + dy * dy > reach * reach) continue;
        crowded[k] = 1;
        if (field.magnitudes[k]! - field.magnitudes[n]! < NEIGHBOUR_MATTERS) crowded[n] = 1;
      }
    }
  }
  return crowded;
}

/**
 * Pairs each star without such a neighbour with the nearest detection, as far as their errors and `slack` (the error of pose and lens,
 * pixels) allow, one to one. Left out: detections far brighter or fainter than their star.
 */
export function pairUp(seen: Detections, field: FieldStars, places: Places, crowded: Uint8Array, slack: number): Pairing {
  const owner = new Int32Array(seen.x.length).fill(-1);
  const distance = new Float64Array(seen.x.length);
  for (let n = 0; n < field.numbers.length; n++) {
    const x = places.x[n]!, y = places.y[n]!;
    if (crowded[n] === 1 || !(x >= 0)) continue;
    const blur2 = slack * slack + field.sigmas[n]! ** 2;
    const spot = nearestPlace(seen.grid, x, y, FARTHEST * Math.sqrt(blur2) + 1);
    if (spot < 0) continue;
    const dx = seen.x[spot]! - x, dy = seen.y[spot]! - y;
    const off2 = dx * dx + dy * dy;
    if (off2 > FARTHEST * FARTHEST * (blur2 + seen.sigma[spot]! ** 2)) continue;
    if (owner[spot]! >= 0 && distance[spot]! <= off2) continue;
    owner[spot] = n;
    distance[spot] = off2;
  }
  const spots = Int32Array.from(owner.keys()).filter((spot) => owner[spot]! >= 0);
  const sound = spots.filter(looksItsMagnitude(seen, field, spots, owner));
  return { spots: sound, stars: sound.map((spot) => owner[spot]!) };
}

/** Returns whether a spot is about as bright as the others suggest for a star of its magnitude. */
function looksItsMagnitude(seen: Detections, field: FieldStars, spots: Int32Array, owner: Int32Array): (spot: number) => boolean {
  const zeroAt = (spot: number): number => field.magnitudes[owner[spot]!]! - seen.instrumental[spot]!;
  const zeros = Array.from(spots.filter((spot) => seen.saturated[spot] === 0), zeroAt);
  if (zeros.length < FEWEST_FOR_BRIGHTNESS) return () => true;
  const zero = median(zeros);
  return (spot) => {
    const off = zeroAt(spot) - zero;
    // A saturated spot has lost light: its star may be brighter than it looks, not fainter.
    return off <= MAGNITUDE_TOLERANCE && (off >= -MAGNITUDE_TOLERANCE || seen.saturated[spot] === 1);
  };
}

export function samePairing(a: Pairing, b: Pairing): boolean {
  return a.spots.length === b.spots.length
    && a.spots.every((spot, n) => spot === b.spots[n] && a.stars[n] === b.stars[n]);
}
