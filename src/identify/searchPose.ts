import type { Rotation } from '../geometry/rotation.js';
import { ACCEPTED_ODDS } from './chanceOdds.js';
import { type JudgedPose, judgePose } from './judgePose.js';
import { type FieldIndex, LONGEST_SIDE, SHORTEST_SIDE, buildFieldIndex } from './fieldIndex.js';
import type { Lens } from './lens.js';
import { type QuickLook, looksRight, makeQuickLook } from './quickLook.js';
import type { Spots } from './spots.js';
import type { StarCap } from './starCap.js';
import { type SearchHints, type Trial, fieldWidthDeg, trialGroups } from './trials.js';
import { describeTriangle, emptyTriangle, findTriangles } from './triangles.js';

export type { SearchHints } from './trials.js';

/** Indexes made on the way, to be kept for the next frame of the same set. */
export type SearchMemory = Map<string, FieldIndex>;

/** One-sigma error, in pixels, of the sides of a triangle of detections, times two to three. */
const SIDE_ERROR = 0.8;
/** Wider fields than this (degrees) may be distorted. */
const WIDE_DEG = 9;
/** An index serves fields wider or narrower than its own by this. */
const SERVES = 1.2;
const MOST_HITS = 4096;

/**
 * Finds the pose of a frame near the pole from its spots alone: similar triangles among the brightest spots and stars
 * give hypotheses, a few more stars where each predicts them discard nearly all, and {@link judgePose} judges the rest.
 * Field widths 0.5° to 60°, any roll, both parities, centre within 12° of the pole. Null if nothing reaches the accepted
 * odds.
 */
export function searchPose(spots: Spots, cap: StarCap, hints: SearchHints, memory: SearchMemory): JudgedPose | null {
  let found: JudgedPose | null = null;
  searchPoses(spots, cap, hints, memory, (pose) => {
    if (pose.logOdds < Math.log(ACCEPTED_ODDS)) return false;
    found = pose;
    return true;
  });
  return found;
}

/** Calls `visit` with every pose that was judged, until it returns true or all is tried. */
export function searchPoses(
  spots: Spots, cap: StarCap, hints: SearchHints, memory: SearchMemory, visit: (pose: JudgedPose) => boolean,
): void {
  if (spots.count < 4) return;
  const looks = new Map<number, QuickLook>();
  const placed = new Map<FieldIndex, Float64Array>();
  const lists = spotLists(spots);
  for (const group of trialGroups(spots.width, spots.height, hints)) {
    for (const list of lists) {
      for (const trial of group) {
        if (searchTrial(spots, list, cap, trial, memory, looks, placed, visit)) return;
      }
    }
  }
}

/** Spots that triangles are made of, and the place in the list from which on they are new. */
interface SpotList { readonly spots: Int32Array; readonly from: number }

/** List after list: the brightest; the brightest all over the picture; more of both. */
function spotLists(spots: Spots): SpotList[] {
  const { brightest } = spots;
  const spread = Int32Array.from(brightest.keys());
  if (spots.count <= 14) return [{ spots: spread, from: 0 }];
  return [
    { spots: brightest.slice(0, 14), from: 0 },
    { spots: spread.slice(0, 24), from: 0 },
    { spots: brightest.slice(0, 28), from: 14 },
    { spots: spread.slice(0, 32), from: 24 },
  ].filter((list) => list.spots.length > list.from);
}

function indexFor(spots: Spots, cap: StarCap, trial: Trial, memory: SearchMemory): FieldIndex {
  const size = Math.max(spots.width, spots.height);
  const fieldWidth = 2 * Math.atan(size / 2 / trial.lens.focalPixels);
  const radius = trial.distance + 0.5 * fieldWidth;
  for (const known of memory.values()) {
    const off = Math.abs(Math.log(known.fieldWidth / fieldWidth));
    if (off < Math.log(SERVES) && known.radius > 0.95 * radius) return known;
  }
  const index = buildFieldIndex(cap, fieldWidth, (fieldWidth * Math.min(spots.width, spots.height)) / size, radius);
  memory.set(`${fieldWidth} ${radius}`, index);
  return index;
}

const hits = new Int32Array(MOST_HITS);
const pose = new Float64Array(9);
const lensNumbers = new Float64Array(6);

function searchTrial(
  spots: Spots, { spots: list, from }: SpotList, cap: StarCap, trial: Trial, memory: SearchMemory, looks: Map<number, QuickLook>,
  placed: Map<FieldIndex, Float64Array>, visit: (pose: JudgedPose) => boolean,
): boolean {
  const index = indexFor(spots, cap, trial, memory);
  cap.reveal(index.radius);
  let directions = placed.get(index);
  if (!directions) placed.set(index, directions = directionsByPlace(cap, index.places));
  const size = Math.max(spots.width, spots.height);
  const field = index.fieldWidth;
  const wide = fieldWidthDeg(trial.lens, spots.width, spots.height) > WIDE_DEG;
  const blur = wide && !trial.lensKnown ? 0.012 : 0.006;
  let look = looks.get(blur);
  if (!look) looks.set(blur, look = makeQuickLook(spots, Math.max(3, blur * size)));

  const { lens, lensKnown, reach } = trial;
  const n = list.length;
  const unmirrored = { ...lens, mirrored: false };
  const rays = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) rays.set(spots.ray(unmirrored, list[i]!), 3 * i);
  const { triangles } = index;
  const triangle = emptyTriangle();
  for (let k = Math.max(2, from); k < n; k++) {
    for (let j = 1; j < k; j++) {
      for (let i = 0; i < j; i++) {
        if (!describeTriangle(rays, i, j, k, (SHORTEST_SIDE * field) / Math.min(reach, 1.25), Math.min(0.8, LONGEST_SIDE * reach) * field, triangle)) continue;
        const tolerance = Math.hypot(trial.tolerance, SIDE_ERROR / (triangle.side * lens.focalPixels));
        const count = findTriangles(triangles, triangle, tolerance, reach, hits);
        for (let h = 0; h < count; h++) {
          const t = hits[h]!;
          const side = triangles.shapes[3 * t + 2]!;
          const mirrored = side * triangle.handedness < 0;
          if (lensKnown && mirrored !== lens.mirrored) continue;
          const ratio = lensKnown ? 1 : triangle.side / Math.abs(side);
          const ia = triangles.stars[3 * t]!;
          const a = index.placeOf[ia]!, b = index.placeOf[triangles.stars[3 * t + 1]!]!, c = index.placeOf[triangles.stars[3 * t + 2]!]!;
          if (!poseFromPair(rays, 3 * triangle.b, 3 * triangle.c, ratio, mirrored, directions, 3 * b, 3 * c)) continue;
          lensNumbers[0] = lens.focalPixels * ratio;
          lensNumbers[1] = lens.centreX;
          lensNumbers[2] = lens.centreY;
          lensNumbers[3] = (lens.radial[0] ?? 0) * ratio * ratio;
          lensNumbers[4] = (lens.radial[1] ?? 0) * ratio ** 4;
          lensNumbers[5] = mirrored ? 1 : 0;
          if (!looksRight(look, pose, lensNumbers, directions, index.companions(ia), a, b, c)) continue;
          const guess: Lens = lensKnown ? lens : {
            ...lens, focalPixels: lens.focalPixels * ratio, mirrored, radial: lens.radial.map((r, m) => r * ratio ** (2 * m + 2)),
          };
          const judged = judgePose(spots, cap, Array.from(pose) as unknown as Rotation, guess, {
            fitFocal: !lensKnown,
            solidAngle: 2 * Math.PI * (1 - Math.cos(trial.distance)),
            near: directions.subarray(3 * a, 3 * a + 3),
            candidates: index.around(ia),
          });
          if (judged && visit(judged)) return true;
        }
      }
    }
  }
  return false;
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

/**
 * Writes the pose that carries the rays p and q to the directions s and t (their middle exactly, their line as to
 * direction) into `pose`. The rays are those of an unmirrored lens; `ratio` is what its focal length must be multiplied by.
 * False if a direction is not known.
 */
function poseFromPair(
  rays: Float64Array, p: number, q: number, ratio: number, mirrored: boolean, directions: Float64Array, s: number, t: number,
): boolean {
  const m = mirrored ? -1 : 1;
  pairFrame(m * rays[p]!, rays[p + 1]!, rays[p + 2]! * ratio, m * rays[q]!, rays[q + 1]!, rays[q + 2]! * ratio, cameraFrame);
  pairFrame(directions[s]!, directions[s + 1]!, directions[s + 2]!, directions[t]!, directions[t + 1]!, directions[t + 2]!, skyFrame);
  for (let r = 0; r < 3; r++) {
    for (let c = 0; c < 3; c++) {
      pose[3 * r + c] = skyFrame[r]! * cameraFrame[c]! + skyFrame[3 + r]! * cameraFrame[3 + c]! + skyFrame[6 + r]! * cameraFrame[6 + c]!;
    }
  }
  return Number.isFinite(pose[0]!);
}

const cameraFrame = new Float64Array(9);
const skyFrame = new Float64Array(9);

/** Three directions at right angles: the middle of two (of any length), from the one to the other, and their normal. */
function pairFrame(px: number, py: number, pz: number, qx: number, qy: number, qz: number, out: Float64Array): void {
  const p = 1 / Math.sqrt(px * px + py * py + pz * pz);
  const q = 1 / Math.sqrt(qx * qx + qy * qy + qz * qz);
  let ax = p * px + q * qx, ay = p * py + q * qy, az = p * pz + q * qz;
  let bx = q * qx - p * px, by = q * qy - p * py, bz = q * qz - p * pz;
  const a = 1 / Math.sqrt(ax * ax + ay * ay + az * az);
  const b = 1 / Math.sqrt(bx * bx + by * by + bz * bz);
  ax *= a; ay *= a; az *= a;
  bx *= b; by *= b; bz *= b;
  out[0] = ax; out[1] = ay; out[2] = az;
  out[3] = bx; out[4] = by; out[5] = bz;
  out[6] = ay * bz - az * by; out[7] = az * bx - ax * bz; out[8] = ax * by - ay * bx;
}
