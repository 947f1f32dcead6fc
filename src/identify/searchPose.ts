import type { Rotation } from '../geometry/rotation.js';
import { ACCEPTED_ODDS } from './chanceOdds.js';
import { type JudgedPose, judgePose } from './judgePose.js';
import { type FieldIndex, LONGEST_SIDE, SHORTEST_SIDE, buildFieldIndex } from './fieldIndex.js';
import type { Lens } from './lens.js';
import { type PairPose, emptyPairPose, poseFromPair } from './pairPose.js';
import { type QuickLook, looksRight, makeQuickLook } from './quickLook.js';
import type { Spots } from './spots.js';
import type { StarCap } from './starCap.js';
import { type SearchHints, type Trial, fieldWidthDeg, trialGroups } from './trials.js';
import { type Triangle, describeTriangle, emptyTriangle, findTriangles } from './triangles.js';

export type { SearchHints } from './trials.js';

/** Indexes of triangles that were made so far, kept for the next frame of the same set. */
export type SearchMemory = Map<string, FieldIndex>;

/** One-sigma error, in pixels, of the sides of a triangle of detections, times two to three. */
const SIDE_ERROR = 0.8;
/** Wider fields than this (degrees) may be distorted. */
const WIDE_DEG = 9;
/** An index serves fields wider or narrower than its own by this. */
const SERVES = 1.2;
const MOST_HITS = 4096;

/**
 * Finds the pose of a frame from its spots alone: similar triangles among the brightest spots and stars give hypotheses, a
 * few more stars where each predicts them discard nearly all, and {@link judgePose} judges the rest. Field widths 0.5° to
 * 60°, any roll, both parities, centre within 12° of the cap's. Null if nothing reaches the accepted odds.
 */
export function searchPose(spots: Spots, cap: StarCap, hints: SearchHints, memory: SearchMemory): JudgedPose | null {
  for (const pose of searchPoses(spots, cap, hints, memory)) if (pose && isAccepted(pose)) return pose;
  return null;
}

export function isAccepted(pose: JudgedPose): boolean {
  return pose.logOdds >= Math.log(ACCEPTED_ODDS);
}

/** The lists of spots that are tried: those that most frames are found with, those that are left, or one after the other. */
export type Effort = 'first' | 'later' | 'all';
const FIRST_LISTS = 2;

/**
 * Every pose that is judged, as it is found; null every few milliseconds between, so that the caller may do something else,
 * or stop.
 */
export function* searchPoses(
  spots: Spots, cap: StarCap, hints: SearchHints, memory: SearchMemory, effort: Effort = 'all',
): Generator<JudgedPose | null> {
  if (spots.count < 4) return;
  const all = spotLists(spots);
  const lists = effort === 'all' ? all : effort === 'first' ? all.slice(0, FIRST_LISTS) : all.slice(FIRST_LISTS);
  const search = startSearch(spots, cap, memory);
  for (const group of trialGroups(spots.width, spots.height, hints, cap.reach)) {
    for (const list of lists) {
      for (const trial of group) if (!trial.larger || hints.sparse || spots.count <= FEW_SPOTS) yield* searchTrial(search, list, trial);
    }
  }
}

/** So many spots make one list. */
const FEW_SPOTS = 14;

/** Spots that triangles are made of, and the place in the list from which on they are new. */
export interface SpotList { readonly spots: Int32Array; readonly from: number }

/** List after list: the brightest; the brightest all over the picture; more of both. */
export function spotLists(spots: Spots): SpotList[] {
  const { brightest } = spots;
  const spread = Int32Array.from(brightest.keys());
  if (spots.count <= FEW_SPOTS) return [{ spots: spread, from: 0 }];
  return [
    { spots: brightest.slice(0, FEW_SPOTS), from: 0 },
    { spots: spread.slice(0, 24), from: 0 },
    { spots: brightest.slice(0, 28), from: FEW_SPOTS },
    { spots: spread.slice(0, 32), from: 24 },
  ].filter((list) => list.spots.length > list.from);
}

function indexFor(spots: Spots, cap: StarCap, trial: Trial, memory: SearchMemory): FieldIndex {
  const size = Math.max(spots.width, spots.height);
  const fieldWidth = (trial.larger ?? 1) * 2 * Math.atan(size / 2 / trial.lens.focalPixels);
  const radius = trial.distance + 0.5 * fieldWidth;
  for (const known of memory.values()) {
    const off = Math.abs(Math.log(known.fieldWidth / fieldWidth));
    if (off < Math.log(SERVES) && known.radius > 0.95 * radius) return known;
  }
  const index = buildFieldIndex(cap, fieldWidth, (fieldWidth * Math.min(spots.width, spots.height)) / size, radius);
  memory.set(`${fieldWidth} ${radius}`, index);
  return index;
}

/** One search: the frame, the stars, what was made of them, and the memory that the innermost loop writes to. */
interface Search {
  readonly spots: Spots;
  readonly cap: StarCap;
  readonly memory: SearchMemory;
  readonly looks: Map<number, QuickLook>;
  readonly placed: Map<FieldIndex, Float64Array>;
  readonly triangle: Triangle;
  /** Numbers of the indexed triangles that are like it. */
  readonly hits: Int32Array;
  readonly pair: PairPose;
  /** The supposed lens in the form that {@link looksRight} takes. */
  readonly lens: Float64Array;
}

function startSearch(spots: Spots, cap: StarCap, memory: SearchMemory): Search {
  return {
    spots, cap, memory, looks: new Map(), placed: new Map(), triangle: emptyTriangle(),
    hits: new Int32Array(MOST_HITS), pair: emptyPairPose(), lens: new Float64Array(6),
  };
}

/** A trial made ready: the spots' directions through its lens, and the stars to compare them with. */
interface ReadyTrial {
  readonly trial: Trial;
  readonly index: FieldIndex;
  /** Directions of the indexed stars by place, 3 numbers each. */
  readonly directions: Float64Array;
  readonly look: QuickLook;
  /** Directions of the listed spots in the camera, unmirrored, 3 numbers each. */
  readonly rays: Float64Array;
  /** Range of the longest sides of triangles, chords. */
  readonly shortest: number;
  readonly longest: number;
}

function* searchTrial(search: Search, list: SpotList, trial: Trial): Generator<JudgedPose | null> {
  const ready = makeReady(search, list, trial);
  yield null;
  const found: JudgedPose[] = [];
  for (let k = Math.max(2, list.from); k < list.spots.length; k++) {
    for (let j = 1; j < k; j++) {
      for (let i = 0; i < j; i++) {
        tryTriangle(search, ready, i, j, k, found);
        // Yielded at once: the first that is accepted ends the search.
        if (found.length > 0) yield* found.splice(0);
      }
    }
    yield null;
  }
}

function makeReady(search: Search, { spots: list }: SpotList, trial: Trial): ReadyTrial {
  const { spots, cap, memory, looks, placed } = search;
  const index = indexFor(spots, cap, trial, memory);
  cap.reveal(index.radius);
  let directions = placed.get(index);
  if (!directions) placed.set(index, directions = directionsByPlace(cap, index.places));
  const wide = fieldWidthDeg(trial.lens, spots.width, spots.height) > WIDE_DEG;
  const blur = wide && !trial.lensKnown ? 0.012 : 0.006;
  let look = looks.get(blur);
  if (!look) looks.set(blur, look = makeQuickLook(spots, Math.max(3, blur * Math.max(spots.width, spots.height))));
  const unmirrored = { ...trial.lens, mirrored: false };
  const rays = new Float64Array(3 * list.length);
  for (let i = 0; i < list.length; i++) rays.set(spots.ray(unmirrored, list[i]!), 3 * i);
  return {
    trial, index, directions, look, rays,
    shortest: (SHORTEST_SIDE * index.fieldWidth) / Math.min(trial.reach, 1.25),
    longest: Math.min(0.8, LONGEST_SIDE * trial.reach) * index.fieldWidth,
  };
}

/**
 * Judges the poses that stars in triangles like that of three spots of the list suggest, up to the first that is accepted;
 * all of them go into `found`.
 */
function tryTriangle(search: Search, ready: ReadyTrial, i: number, j: number, k: number, found: JudgedPose[]): void {
  const { triangle, hits } = search;
  if (!describeTriangle(ready.rays, i, j, k, ready.shortest, ready.longest, triangle)) return;
  const { trial, index } = ready;
  const tolerance = Math.hypot(trial.tolerance, SIDE_ERROR / (triangle.side * trial.lens.focalPixels));
  const count = findTriangles(index.triangles, triangle, tolerance, trial.reach, hits);
  for (let h = 0; h < count; h++) {
    const judged = tryHit(search, ready, hits[h]!);
    if (!judged) continue;
    found.push(judged);
    if (isAccepted(judged)) return;
  }
}

/** The pose with which the search's triangle is number t of the index, judged; null where a few more stars speak against it. */
function tryHit(search: Search, { trial, index, directions, look, rays }: ReadyTrial, t: number): JudgedPose | null {
  const { triangle, pair, lens: supposed } = search;
  const { lens, lensKnown } = trial;
  const { stars, shapes } = index.triangles;
  const side = shapes[3 * t + 2]!;
  const mirrored = side * triangle.handedness < 0;
  if (lensKnown && mirrored !== lens.mirrored) return null;
  const ratio = lensKnown ? 1 : triangle.side / Math.abs(side);
  const first = stars[3 * t]!;
  const a = index.placeOf[first]!, b = index.placeOf[stars[3 * t + 1]!]!, c = index.placeOf[stars[3 * t + 2]!]!;
  if (!poseFromPair(rays, 3 * triangle.b, 3 * triangle.c, ratio, mirrored, directions, 3 * b, 3 * c, pair)) return null;
  supposed[0] = lens.focalPixels * ratio;
  supposed[1] = lens.centreX;
  supposed[2] = lens.centreY;
  supposed[3] = (lens.radial[0] ?? 0) * ratio * ratio;
  supposed[4] = (lens.radial[1] ?? 0) * ratio ** 4;
  supposed[5] = mirrored ? 1 : 0;
  if (!looksRight(look, pair.pose, supposed, directions, index.companions(first), a, b, c)) return null;
  const guess: Lens = lensKnown ? lens : {
    ...lens, focalPixels: lens.focalPixels * ratio, mirrored, radial: lens.radial.map((r, m) => r * ratio ** (2 * m + 2)),
  };
  return judgePose(search.spots, search.cap, Array.from(pair.pose) as unknown as Rotation, guess, {
    fitFocal: !lensKnown,
    solidAngle: 2 * Math.PI * (1 - Math.cos(trial.distance)),
    near: directions.subarray(3 * a, 3 * a + 3),
    candidates: index.around(first),
  });
}

/** Directions of the stars whose cap numbers are given, 3 numbers each. */
function directionsByPlace(cap: StarCap, places: Int32Array): Float64Array {
  const out = new Float64Array(3 * places.length);
  for (let m = 0; m < places.length; m++) {
    const s = 3 * places[m]!;
    out[3 * m] = cap.directions[s]!;
    out[3 * m + 1] = cap.directions[s + 1]!;
    out[3 * m + 2] = cap.directions[s + 2]!;
  }
  return out;
}
