import type { Rotation } from '../geometry/rotation.js';
import { DEGREE } from '../geometry/angle.js';
import { type Vector, add, cross, dot, scale, subtract, unit } from '../geometry/vector.js';
import { CELL_REACH, cellAxes, cellsAround } from '../sky/catalogue/cells.js';
import type { SkyCatalogue } from '../sky/catalogueSky.js';
import { type LocalSky, makeLocalSky } from '../sky/localSky.js';
import { type JudgedPose, judgePose } from './judgePose.js';
import type { Lens } from './lens.js';
import { type PairPose, emptyPairPose, poseFromPair } from './pairPose.js';
import { type QuadIndex, type QuadStars, LONGEST, SHORTEST, buildQuadIndex, emptyQuadStars, findQuads, starsOfQuad } from './quadIndex.js';
import { type Chords, type Quad, describeQuad, emptyChords, emptyQuad, measureChords } from './quads.js';
import { type QuickLook, looksRight, makeQuickLook } from './quickLook.js';
import { isAccepted, spotLists, type SpotList } from './searchPose.js';
import { type SkyTrial, skyTrials } from './skyTrials.js';
import type { Spots } from './spots.js';
import { type StarCap, regionStars, starCap, yearsSince2000 } from './starCap.js';
import type { SearchHints } from './trials.js';

/** A pose found anywhere in the sky, with the stars around it: its star numbers are theirs. */
export interface SkyPose extends JudgedPose {
  readonly cap: StarCap;
  /** The sky in whose frame the pose is: without a site where the site's horizon hides that part of it. */
  readonly sky: LocalSky;
}

/** A part of the sky: what is from `from` to `to` (radians) away from a direction (ICRS). */
export interface SkyPart {
  readonly around: Vector;
  readonly from: number;
  readonly to: number;
}

/** Indexes of the whole sky by the width of the field (radians): made on the way, for the next frame of the same set. */
export type SkyIndexes = Map<number, QuadIndex>;

/** The whole sky in four equal parts, nearest to a direction first. */
export function partsFrom(around: Vector): SkyPart[] {
  const edges = [0, 60, 90, 120, 180].map((degrees) => degrees * DEGREE);
  return edges.slice(1).map((to, i) => ({ around, from: edges[i]!, to }));
}

const MOST_HITS = 1 << 16;
/** For wider fields than this (radians) the sky has so few stars that parts of it save nothing. */
const WIDE_FIELD = 4 * DEGREE;
/** The indexes for wider fields than this (radians) are small enough to be kept for the next frame. */
const KEPT_FIELD = 8 * DEGREE;
/** Stars that a first judgement takes from the catalogue, on the average, and those that the last match does. */
const STARS_TO_JUDGE = 1500;
const STARS_TO_MATCH = 4000;
/** Tycho-2's stars to V 11, and how their number grows with magnitude (logarithm to base 10). */
const STARS_TO_11 = 850_000;
const GROWTH = 0.45;
const WHOLE_SKY = 4 * Math.PI;

/**
 * Looks for the pose of a frame in parts of the sky, one after the other: quads of its spots are looked up among those of
 * the stars, a few more stars where each hit predicts them discard nearly all, and {@link judgePose} judges the rest against
 * chance over the whole sphere. Field widths 1° to 60°, narrower ones where enough stars to V 11 are in them; any roll,
 * both parities. Yields what it judges, and null every few milliseconds between.
 *
 * @param sky at the frame's time
 * @param indexes from an earlier frame, or a new Map
 */
export function* searchSky(
  spots: Spots, catalogue: SkyCatalogue, sky: LocalSky, hints: SearchHints, parts: readonly SkyPart[],
  indexes: SkyIndexes = new Map(),
): Generator<SkyPose | null> {
  if (spots.count < 4) return;
  const search: Search = {
    spots, catalogue, sky, below: makeLocalSky(sky.time, null), looks: new Map(), quad: emptyQuad(),
    hits: new Int32Array(MOST_HITS), stars: emptyQuadStars(), pair: emptyPairPose(), lens: new Float64Array(6),
  };
  const lists = spotLists(spots);
  for (const trial of skyTrials(spots.width, spots.height, hints)) {
    const { fieldWidth } = trial;
    const together = fieldWidth > WIDE_FIELD && parts.length > 1;
    for (const part of together ? [{ around: parts[0]!.around, from: 0, to: Math.PI }] : parts) {
      let index = together ? indexes.get(fieldWidth) : undefined;
      if (!index) {
        const stars = catalogue.collect(cellsOf(part, fieldWidth), faintestFor(trial), yearsSince2000(sky.time));
        yield null;
        index = yield* buildQuadIndex(stars, fieldWidth, trial.size);
        if (fieldWidth > KEPT_FIELD && together) indexes.set(fieldWidth, index);
      }
      for (const list of lists) yield* searchTrial(search, index, list, trial);
    }
  }
}

/** Cells of a part of the sky, and those beside it that a field reaches into. */
function cellsOf({ around, from, to }: SkyPart, fieldWidth: number): Int32Array {
  const beyond = CELL_REACH + fieldWidth / 2;
  const nearest = Math.cos(Math.max(0, from - beyond)), farthest = Math.cos(Math.min(Math.PI, to + beyond));
  return cellsAround(around, Math.min(Math.PI, to + beyond)).filter((cell) => {
    const cosine = dot(around, cellAxes(cell).middle);
    return cosine <= nearest && cosine >= farthest;
  });
}

/** Magnitude down to which the sky has three times as many stars as the index of a trial takes, on the average. */
function faintestFor({ fieldWidth, size }: SkyTrial): number {
  return magnitudeOf((3 * size.starsPerCell * WHOLE_SKY) / (fieldWidth / 2) ** 2);
}

/** Magnitude down to which the whole sky has that many stars; beyond what the catalogue has everywhere, all it has. */
function magnitudeOf(stars: number): number {
  return stars > STARS_TO_11 ? 20 : 11 + Math.log10(stars / STARS_TO_11) / GROWTH;
}

/** One search: the frame, the stars, and the memory that the innermost loop writes to. */
interface Search {
  readonly spots: Spots;
  readonly catalogue: SkyCatalogue;
  readonly sky: LocalSky;
  /** The same without a site. */
  readonly below: LocalSky;
  readonly looks: Map<number, QuickLook>;
  readonly quad: Quad;
  readonly hits: Int32Array;
  /** Those of a hit. */
  readonly stars: QuadStars;
  readonly pair: PairPose;
  /** The supposed lens in the form that {@link looksRight} takes. */
  readonly lens: Float64Array;
}

interface ReadyTrial {
  readonly trial: SkyTrial;
  readonly index: QuadIndex;
  readonly look: QuickLook;
  /** Directions of the listed spots in the camera, unmirrored, 3 numbers each; their places in that list; their chords. */
  readonly rays: Float64Array;
  readonly places: Int32Array;
  readonly chords: Chords;
  /** Range of the sides of quads, chords. */
  readonly shortest: number;
  readonly longest: number;
}

function* searchTrial(search: Search, index: QuadIndex, list: SpotList, trial: SkyTrial): Generator<SkyPose | null> {
  const ready = makeReady(search, index, list, trial);
  const found: SkyPose[] = [];
  for (let l = Math.max(3, list.from); l < list.spots.length; l++) {
    for (let k = 2; k < l; k++) {
      tryQuadsOf(search, ready, l, k, found);
      // Told at once: the first that is accepted ends the search.
      if (found.length > 0) yield* found.splice(0);
    }
    yield null;
  }
}

function makeReady({ spots, looks }: Search, index: QuadIndex, list: SpotList, trial: SkyTrial): ReadyTrial {
  const count = list.spots.length;
  const unmirrored = { ...trial.lens, mirrored: false };
  const rays = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) rays.set(spots.ray(unmirrored, list.spots[i]!), 3 * i);
  const places = Int32Array.from({ length: count }, (_, i) => i);
  const chords = emptyChords(count);
  measureChords(rays, places, count, chords);
  let look = looks.get(trial.blur);
  if (!look) looks.set(trial.blur, look = makeQuickLook(spots, Math.max(3, trial.blur * Math.max(spots.width, spots.height))));
  return {
    trial, index, look, rays, places, chords,
    shortest: (SHORTEST * index.fieldWidth) / trial.reach, longest: Math.min(0.9, LONGEST * trial.reach) * index.fieldWidth,
  };
}

/** Tries all quads of two spots with two that come before both in the list, up to the first pose that is accepted. */
function tryQuadsOf(search: Search, ready: ReadyTrial, l: number, k: number, found: SkyPose[]): void {
  const { rays, places, chords, shortest, longest } = ready;
  for (let j = 1; j < k; j++) {
    for (let i = 0; i < j; i++) {
      if (!describeQuad(rays, places, chords, i, j, k, l, shortest, longest, search.quad)) continue;
      if (tryQuad(search, ready, found)) return;
    }
  }
}

/**
 * Looks up the search's quad, in both parities and in each order that errors of its places leave open, and judges the
 * poses that the hits suggest; they go into `found`. True as soon as one is accepted.
 */
function tryQuad(search: Search, ready: ReadyTrial, found: SkyPose[]): boolean {
  const { cx, cy, dx, dy } = search.quad;
  const open = ready.trial.tolerance / 64;
  const swaps = dx - cx < open, turns = -cx - dx < open;
  for (const mirrored of ready.trial.lensKnown ? [ready.trial.lens.mirrored] : [false, true]) {
    const m = mirrored ? -1 : 1;
    if (tryCode(search, ready, mirrored, false, cx, m * cy, dx, m * dy, found)) return true;
    if (swaps && tryCode(search, ready, mirrored, false, dx, m * dy, cx, m * cy, found)) return true;
    if (turns && tryCode(search, ready, mirrored, true, -dx, -m * dy, -cx, -m * cy, found)) return true;
    if (turns && swaps && tryCode(search, ready, mirrored, true, -cx, -m * cy, -dx, -m * dy, found)) return true;
  }
  return false;
}

/** @param turned the quad's A and B are exchanged */
function tryCode(
  search: Search, ready: ReadyTrial, mirrored: boolean, turned: boolean, cx: number, cy: number, dx: number, dy: number,
  found: SkyPose[],
): boolean {
  const count = findQuads(ready.index, cx, cy, dx, dy, ready.trial.tolerance, search.hits);
  for (let h = 0; h < count; h++) {
    const judged = tryHit(search, ready, mirrored, turned, search.hits[h]!);
    if (!judged) continue;
    found.push(judged);
    if (isAccepted(judged)) return true;
  }
  return false;
}

/** The pose with which the search's quad is one of the index, judged; null where a few more stars speak against it. */
function tryHit(
  search: Search, { trial, index, look, rays }: ReadyTrial, mirrored: boolean, turned: boolean, hit: number,
): SkyPose | null {
  const { quad, stars, pair, lens: supposed } = search;
  const { lens, lensKnown, reach } = trial;
  starsOfQuad(index, hit, stars);
  const [a, b, c, d] = [stars.four[0]!, stars.four[1]!, stars.four[2]!, stars.four[3]!];
  const { directions } = index;
  const x = directions[3 * a]! - directions[3 * b]!, y = directions[3 * a + 1]! - directions[3 * b + 1]!;
  const z = directions[3 * a + 2]! - directions[3 * b + 2]!;
  const seen = quad.side / Math.sqrt(x * x + y * y + z * z);
  if (seen > reach || seen * reach < 1) return null;
  const ratio = lensKnown ? 1 : seen;
  const p = turned ? quad.b : quad.a, q = turned ? quad.a : quad.b;
  if (!poseFromPair(rays, 3 * p, 3 * q, ratio, mirrored, directions, 3 * a, 3 * b, pair)) return null;
  supposed[0] = lens.focalPixels * ratio;
  supposed[1] = lens.centreX;
  supposed[2] = lens.centreY;
  supposed[3] = (lens.radial[0] ?? 0) * ratio * ratio;
  supposed[4] = (lens.radial[1] ?? 0) * ratio ** 4;
  supposed[5] = mirrored ? 1 : 0;
  if (!looksRight(look, pair.pose, supposed, directions, index.companions(a), a, b, c, d)) return null;
  const guess: Lens = lensKnown ? lens : {
    ...lens, focalPixels: lens.focalPixels * ratio, mirrored, radial: lens.radial.map((r, m) => r * ratio ** (2 * m + 2)),
  };
  const near: Vector = [directions[3 * a]!, directions[3 * a + 1]!, directions[3 * a + 2]!];
  return judgeThere(search, Array.from(pair.pose) as unknown as Rotation, guess, !lensKnown, near);
}

/** Judges a pose relative to ICRS with the stars that are there. */
function judgeThere(search: Search, pose: Rotation, lens: Lens, fitFocal: boolean, near: Vector): SkyPose | null {
  const { spots, catalogue } = search;
  const axis: Vector = [pose[2], pose[5], pose[8]];
  const sky = search.sky.site === null || search.sky.toLocal(axis)[2] > 0 ? search.sky : search.below;
  const cap = patchAround(catalogue, sky, axis, spots, lens, STARS_TO_JUDGE);
  const judged = judgePose(spots, cap, fromIcrs(sky, pose), lens, {
    fitFocal, solidAngle: WHOLE_SKY, near: sky.toLocal(near), candidates: null,
  });
  return judged && { ...judged, cap, sky };
}

/** About `most` stars around a direction (ICRS), as far as a frame of that lens can reach. */
function patchAround(catalogue: SkyCatalogue, sky: LocalSky, middle: Vector, spots: Spots, lens: Lens, most: number): StarCap {
  const radius = Math.min(1.4, 1.3 * Math.atan(Math.hypot(spots.width, spots.height) / 2 / lens.focalPixels) + 0.003);
  const faintest = magnitudeOf((2 * most) / (1 - Math.cos(radius)));
  const cap = starCap(regionStars(catalogue, middle, radius, () => faintest, sky.time), sky);
  cap.reveal(Math.PI);
  return cap;
}

/** All stars that a found frame may show: those that the last match is made with. */
export function starsToMatch(catalogue: SkyCatalogue, found: SkyPose, spots: Spots): StarCap {
  const { sky } = found;
  const axis = sky.fromLocal([found.pose[2], found.pose[5], found.pose[8]]);
  return patchAround(catalogue, sky, unit(axis), spots, found.lens, STARS_TO_MATCH);
}

/** The pose in the sky's frame from one relative to ICRS: exact on the optical axis. */
function fromIcrs(sky: LocalSky, pose: Rotation): Rotation {
  const x: Vector = [pose[0], pose[3], pose[6]], z: Vector = [pose[2], pose[5], pose[8]];
  const axis = sky.toLocal(z);
  const beside = sky.toLocal(unit(add(z, scale(x, 1e-3))));
  const right = unit(subtract(beside, scale(axis, dot(beside, axis))));
  const down = cross(axis, right);
  return [right[0], down[0], axis[0], right[1], down[1], axis[1], right[2], down[2], axis[2]];
}
