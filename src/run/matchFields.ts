import { type PlaceGrid, makePlaceGrid, nearestPlace } from '../identify/placeGrid.js';
import { median } from '../numeric/median.js';
import { type PlaneFit, fitPlane } from './planeFit.js';

/** A star's place in a picture, pixels. */
export interface Place {
  readonly x: number;
  readonly y: number;
  /** One-sigma error in each coordinate, pixels. */
  readonly sigma: number;
}

/** The stars two pictures share: star `from[k]` of one is star `to[k]` of the other. */
export interface FieldMatch {
  readonly from: Int32Array;
  readonly to: Int32Array;
  readonly fit: PlaneFit;
}

/** Number of bright stars whose pairs are compared, at first and where that fails. */
const DEPTHS = [50, 120];
/** Two stars' distance is equal in both pictures within this: centroids, refraction, focus. */
const LENGTH_PIXELS = 1.5;
const LENGTH_SHARE = 0.001;
/** A star counts as found where the other picture has one within this, pixels. */
const REACH = 3;
/** Accepted chance of a wrong match. */
const CHANCE = 1e-4;
/** The most pairs tried at each depth. */
const MOST_TRIES = 200_000;

/**
 * Finds the stars that two pictures of the same camera share, whatever the shift and rotation between them: pairs of bright stars with
 * equal distances in both propose a map; the one under which most other stars coincide wins, if chance would do as well less than once in
 * 10 000 times. Cloud may hide most stars of either, as long as some bright ones are shared.
 *
 * @param from brightest first
 * @param to brightest first
 * @returns null where no map passes (fewer than three shared stars among the rest)
 */
export function matchFields(from: readonly Place[], to: readonly Place[], width: number, height: number): FieldMatch | null {
  for (const depth of DEPTHS) {
    const start = propose(from.slice(0, depth), to.slice(0, depth), width, height);
    const match = start && matchNear(from, to, start, width, height);
    if (match) return match;
    if (from.length <= depth && to.length <= depth) break;
  }
  return null;
}

/** A rotation (cosine, sine) about the picture's middle and a shift, pixels. */
export interface RigidMap {
  readonly cosine: number;
  readonly sine: number;
  readonly shiftX: number;
  readonly shiftY: number;
}

function propose(from: readonly Place[], to: readonly Place[], width: number, height: number): RigidMap | null {
  if (from.length < 3 || to.length < 3) return null;
  const shortest = Math.min(0.15 * Math.hypot(width, height), medianDistance(from), medianDistance(to));
  const pairs = pairsOf(to, 0).sort((p, q) => p.length - q.length);
  const lengths = Float64Array.from(pairs, (p) => p.length);
  const grid = gridOf(to, width, height);
  const cx = (width - 1) / 2, cy = (height - 1) / 2;
  const perStar = (to.length * Math.PI * REACH * REACH) / (width * height);
  let best: RigidMap | null = null;
  let most = 0, tries = 0;
  for (const { i, j, length } of pairsOf(from, shortest)) {
    const a = from[i]!, b = from[j]!;
    const tolerance = LENGTH_PIXELS + LENGTH_SHARE * length;
    for (let p = firstAtLeast(lengths, length - tolerance); p < pairs.length && lengths[p]! <= length + tolerance; p++) {
      for (const turned of [false, true]) {
        const c = to[turned ? pairs[p]!.j : pairs[p]!.i]!, d = to[turned ? pairs[p]!.i : pairs[p]!.j]!;
        const angle = Math.atan2(d.y - c.y, d.x - c.x) - Math.atan2(b.y - a.y, b.x - a.x);
        const cosine = Math.cos(angle), sine = Math.sin(angle);
        const mx = (a.x + b.x) / 2 - cx, my = (a.y + b.y) / 2 - cy;
        const map = {
          cosine, sine,
          shiftX: (c.x + d.x) / 2 - cx - (cosine * mx - sine * my),
          shiftY: (c.y + d.y) / 2 - cy - (sine * mx + cosine * my),
        };
        tries++;
        const found = countFound(from, i, j, grid, map, cx, cy, most);
        if (found > most) {
          most = found;
          best = map;
        }
      }
    }
    if (tries > MOST_TRIES || most > 0.7 * Math.min(from.length, to.length) + 3) break;
  }
  // Two stars made the map; only the others are evidence for it.
  return best && tries * poissonTail(from.length * perStar, most - 2) < CHANCE ? best : null;
}

/** Pairs (i < j) at least `shortest` apart, those of the brightest stars first. */
function pairsOf(stars: readonly Place[], shortest: number): { i: number; j: number; length: number }[] {
  const out: { i: number; j: number; length: number }[] = [];
  for (let j = 1; j < stars.length; j++) {
    for (let i = 0; i < j; i++) {
      const length = Math.hypot(stars[i]!.x - stars[j]!.x, stars[i]!.y - stars[j]!.y);
      if (length >= shortest) out.push({ i, j, length });
    }
  }
  return out;
}

function medianDistance(stars: readonly Place[]): number {
  return 0.5 * median(pairsOf(stars.slice(0, 12), 0).map((p) => p.length));
}

function firstAtLeast(sorted: Float64Array, value: number): number {
  let low = 0, high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < value) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Of this many stars, apart from the two that made a map, at least one coincides under the right map even if four in five are hidden. */
const TELLING = 20;

/** Number of stars that coincide; stops where `beat` can't be reached, or where none of the first coincides except the pair (i, j). */
function countFound(
  from: readonly Place[], i: number, j: number, grid: PlaceGrid, map: RigidMap, cx: number, cy: number, beat: number,
): number {
  let found = 0;
  for (let k = 0; k < from.length; k++) {
    if (found + from.length - k <= beat) return found;
    if (k === TELLING && found <= (i < k ? 1 : 0) + (j < k ? 1 : 0)) return found;
    const u = from[k]!.x - cx, v = from[k]!.y - cy;
    const x = cx + map.shiftX + map.cosine * u - map.sine * v, y = cy + map.shiftY + map.sine * u + map.cosine * v;
    if (nearestPlace(grid, x, y, REACH) >= 0) found++;
  }
  return found;
}

/** Probability of at least `least` when `mean` are expected. */
function poissonTail(mean: number, least: number): number {
  if (least <= 0) return 1;
  let term = Math.exp(-mean), sum = 0;
  for (let n = 1; n <= least; n++) term *= mean / n;
  for (let n = least; n < least + 60; n++) {
    sum += term;
    term *= mean / (n + 1);
  }
  return Math.min(1, sum);
}

/**
 * All pairs of stars near a known map, each the other's nearest, within a shrinking distance.
 * @returns null with fewer than three
 */
export function matchNear(from: readonly Place[], to: readonly Place[], start: RigidMap, width: number, height: number): FieldMatch | null {
  const centre = { x: (width - 1) / 2, y: (height - 1) / 2 };
  const grid = gridOf(to, width, height);
  let place = (x: number, y: number): [number, number] => [
    centre.x + start.shiftX + start.cosine * (x - centre.x) - start.sine * (y - centre.y),
    centre.y + start.shiftY + start.sine * (x - centre.x) + start.cosine * (y - centre.y),
  ];
  let match: FieldMatch | null = null;
  for (const reach of [REACH, REACH, REACH / 2, REACH / 2]) {
    const nearestFrom = new Int32Array(to.length).fill(-1);
    const distance = new Float64Array(to.length);
    from.forEach((star, k) => {
      const [x, y] = place(star.x, star.y);
      const n = nearestPlace(grid, x, y, reach);
      if (n < 0) return;
      const d = Math.hypot(to[n]!.x - x, to[n]!.y - y);
      if (nearestFrom[n]! >= 0 && distance[n]! <= d) return;
      nearestFrom[n] = k;
      distance[n] = d;
    });
    const ends: number[] = [];
    nearestFrom.forEach((k, n) => { if (k >= 0) ends.push(n); });
    const starts = ends.map((n) => nearestFrom[n]!);
    const fit = fitPlane({
      fromX: starts.map((k) => from[k]!.x), fromY: starts.map((k) => from[k]!.y),
      toX: ends.map((n) => to[n]!.x), toY: ends.map((n) => to[n]!.y),
      sigma: ends.map((n, k) => Math.hypot(to[n]!.sigma, from[starts[k]!]!.sigma)),
    }, centre);
    if (!fit) return match;
    match = { from: Int32Array.from(starts), to: Int32Array.from(ends), fit };
    const [a, b, c, d] = fit.matrix;
    place = (x, y) => [
      centre.x + fit.shiftX + a * (x - centre.x) + b * (y - centre.y),
      centre.y + fit.shiftY + c * (x - centre.x) + d * (y - centre.y),
    ];
  }
  return match;
}

function gridOf(stars: readonly Place[], width: number, height: number): PlaceGrid {
  return makePlaceGrid(Float64Array.from(stars, (s) => s.x), Float64Array.from(stars, (s) => s.y), width, height, 4 * REACH);
}
