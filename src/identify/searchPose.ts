import { type Vector, cross, unit } from '../geometry/vector.js';
import type { Rotation } from '../geometry/rotation.js';
import type { Lens } from './lens.js';
import { confirmPose, type ConfirmedPose, type Spots } from './confirmPose.js';
import type { StarCap } from './starCap.js';
import { describeTriangle, emptyTriangle, findTriangles, buildTriangleIndex, neighbourhoods, type TriangleIndex } from './triangles.js';

/** What is known beforehand. Nothing here is needed; what is right makes the search faster. */
export interface SearchHints {
  /** Focal length in pixels, from the header or the person: tried first, then every other. */
  readonly focalPixels?: number;
  /** A lens that another frame of the same camera settled: then only the pose is searched. */
  readonly lens?: Lens;
}

/** Field widths (degrees) that are searched. */
const NARROWEST_DEG = 0.4;
const WIDEST_DEG = 70;
/** Wider than this the picture is no longer similar to the sky, so that the focal length must be nearly right beforehand. */
const FLAT_FIELD_DEG = 8;
/** Stars a frame that triangles are made of. */
const STARS_PER_FIELD = 28;
/** Brightest detections that triangles are made of, in growing rounds. */
const ROUNDS = [16, 30] as const;
const PARTNERS = 14;
const COMPANIONS = 60;

interface Trial {
  readonly focalPixels: number;
  /** Focal lengths from focalPixels / reach to focalPixels·reach are found. */
  readonly reach: number;
  /** Distance from the pole within which the frame's centre is looked for, radians. */
  readonly radius: number;
  readonly tolerance: number;
}

/** Indexes made on the way, to be kept for the next frame of the same set. */
export type SearchMemory = Map<string, FieldIndex>;

interface FieldIndex {
  readonly triangles: TriangleIndex;
  /** Cap number of each indexed star. */
  readonly stars: Int32Array;
  /** The brightest indexed stars around each (lazily filled), for a quick look whether a pose makes sense. */
  readonly companions: (Int32Array | undefined)[];
  readonly visitNear: (i: number, use: (j: number) => void) => void;
}

/**
 * Finds the pose of a frame near the pole from its spots alone: similar triangles among the brightest spots and stars
 * give hypotheses, a few more stars where each predicts them discard nearly all, and {@link confirmPose} judges the rest.
 * Field widths 0.5° to 60°, any roll, both parities. Null if nothing reaches the accepted odds.
 */
export function searchPose(spots: Spots, cap: StarCap, hints: SearchHints, memory: SearchMemory): ConfirmedPose | null {
  if (spots.count < 4) return null;
  for (const round of ROUNDS) {
    for (const trial of trials(spots, hints)) {
      const found = searchTrial(spots, cap, trial, round, hints, memory);
      if (found) return found;
    }
    if (spots.count <= round) break;
  }
  return null;
}

/** The trials in the order in which they pay: near the pole before far, the hinted scale before others. */
function trials(spots: Spots, hints: SearchHints): Trial[] {
  const width = Math.max(spots.width, spots.height);
  const focal = (fieldDeg: number): number => width / 2 / Math.tan((fieldDeg * Math.PI) / 360);
  const field = (focalPixels: number): number => (360 / Math.PI) * Math.atan(width / 2 / focalPixels);
  const make = (focalPixels: number, reach: number, far: boolean, tolerance: number): Trial => {
    const fieldRadius = (field(focalPixels) * Math.PI) / 360;
    return { focalPixels, reach, tolerance, radius: ((far ? 12 : 3.5) * Math.PI) / 180 + fieldRadius };
  };
  if (hints.lens) {
    const tolerance = field(hints.lens.focalPixels) > FLAT_FIELD_DEG ? 0.008 : 0.005;
    return [false, true].map((far) => make(hints.lens!.focalPixels, 1.02, far, tolerance));
  }
  const list: Trial[] = [];
  if (hints.focalPixels !== undefined && field(hints.focalPixels) >= NARROWEST_DEG && field(hints.focalPixels) <= WIDEST_DEG) {
    const wide = field(hints.focalPixels) > FLAT_FIELD_DEG;
    for (const far of [false, true]) list.push(make(hints.focalPixels, wide ? 1.07 : 1.12, far, wide ? 0.012 : 0.006));
  }
  for (const far of [false, true]) {
    for (let f = NARROWEST_DEG * Math.SQRT2; f < FLAT_FIELD_DEG * 1.2; f *= 2) list.push(make(focal(f), 1.5, far, 0.006));
    for (let f = FLAT_FIELD_DEG; f < WIDEST_DEG; f *= 1.12) list.push(make(focal(f), 1.09, far, 0.012));
  }
  return list;
}

function searchTrial(
  spots: Spots, cap: StarCap, trial: Trial, round: number, hints: SearchHints, memory: SearchMemory,
): ConfirmedPose | null {
  const width = Math.max(spots.width, spots.height);
  const field = 2 * Math.atan(width / 2 / trial.focalPixels);
  const key = `${trial.focalPixels.toFixed(3)} ${trial.radius.toFixed(5)}`;
  let index = memory.get(key);
  if (!index) {
    index = buildFieldIndex(cap, field, (field * Math.min(spots.width, spots.height)) / width, trial.radius);
    memory.set(key, index);
  }
  const n = Math.min(spots.count, round);
  const lens: Lens = hints.lens ?? {
    focalPixels: trial.focalPixels, centreX: (spots.width - 1) / 2, centreY: (spots.height - 1) / 2, radial: [], mirrored: false,
  };
  const rays = cameraRays(spots, n, { ...lens, mirrored: false });
  const quick = quickLook(spots, field * (180 / Math.PI) > FLAT_FIELD_DEG ? 0.012 : 0.006);
  const triangle = emptyTriangle();
  let found: ConfirmedPose | null = null;
  for (let k = 2; k < n && !found; k++) {
    for (let j = 1; j < k && !found; j++) {
      for (let i = 0; i < j && !found; i++) {
        if (!describeTriangle(rays, i, j, k, 0.1 * field, 0.75 * field, triangle)) continue;
        findTriangles(index.triangles, triangle, trial.tolerance, (t) => {
          if (found) return;
          const ratio = triangle.side / index.triangles.side[t]!;
          if (ratio > trial.reach || ratio * trial.reach < 1) return;
          const mirrored = index.triangles.handedness[t] !== triangle.handedness;
          if (hints.lens && mirrored !== hints.lens.mirrored) return;
          const guess: Lens = hints.lens ?? { ...lens, focalPixels: lens.focalPixels * ratio, mirrored };
          const pose = poseFromPair(spots, guess, triangle.b, triangle.c, cap,
            index.stars[index.triangles.stars[3 * t + 1]!]!, index.stars[index.triangles.stars[3 * t + 2]!]!);
          if (!pose || !quick.plausible(pose, guess, cap, index, index.triangles.stars, 3 * t)) return;
          found = confirmPose(spots, cap, pose, guess, {
            fitFocal: !hints.lens,
            solidAngle: 2 * Math.PI * (1 - Math.cos(trial.radius)),
            near: cap.directions.subarray(3 * index.stars[index.triangles.stars[3 * t]!]!, 3 * index.stars[index.triangles.stars[3 * t]!]! + 3),
          });
        });
      }
    }
  }
  return found;
}

function cameraRays(spots: Spots, n: number, lens: Lens): Float64Array {
  const rays = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) rays.set(spots.ray(lens, i), 3 * i);
  return rays;
}

/** The pose that carries the rays of two spots to two stars (their middle exactly, their line as to direction). */
function poseFromPair(spots: Spots, lens: Lens, p: number, q: number, cap: StarCap, s: number, t: number): Rotation | null {
  const camera = frameOfPair(spots.ray(lens, p), spots.ray(lens, q));
  const d = cap.directions;
  const sky = frameOfPair([d[3 * s]!, d[3 * s + 1]!, d[3 * s + 2]!], [d[3 * t]!, d[3 * t + 1]!, d[3 * t + 2]!]);
  const [a, b, c] = camera;
  const [u, v, w] = sky;
  const pose = [0, 1, 2].flatMap((r) => [0, 1, 2].map((k) => u[r]! * a[k]! + v[r]! * b[k]! + w[r]! * c[k]!));
  return Number.isFinite(pose[0]) ? (pose as unknown as Rotation) : null;
}

function frameOfPair(p: Vector, q: Vector): [Vector, Vector, Vector] {
  const a = unit([p[0] + q[0], p[1] + q[1], p[2] + q[2]]);
  const b = unit([q[0] - p[0], q[1] - p[1], q[2] - p[2]]);
  return [a, b, cross(a, b)];
}

/** Chooses the stars that a field of this size shows best, within `radius` of the pole, and indexes their triangles. */
function buildFieldIndex(cap: StarCap, fieldWidth: number, fieldHeight: number, radius: number): FieldIndex {
  const capArea = 2 * Math.PI * (1 - Math.cos(Math.min(radius, Math.PI / 4)));
  const wanted = Math.ceil((STARS_PER_FIELD * capArea) / (fieldWidth * fieldHeight));
  const limit = Math.cos(radius);
  const stars = new Int32Array(Math.min(wanted, cap.count));
  const directions = new Float64Array(3 * stars.length);
  const [px, py, pz] = cap.pole;
  let n = 0;
  for (let i = 0; i < cap.count && n < stars.length; i++) {
    const x = cap.directions[3 * i]!, y = cap.directions[3 * i + 1]!, z = cap.directions[3 * i + 2]!;
    if (!(x * px + y * py + z * pz > limit)) continue;
    stars[n] = i;
    directions[3 * n] = x;
    directions[3 * n + 1] = y;
    directions[3 * n + 2] = z;
    n++;
  }
  const longest = 0.5 * fieldWidth;
  return {
    triangles: buildTriangleIndex(directions, n, 0.14 * fieldWidth, longest, PARTNERS),
    stars: stars.subarray(0, n),
    companions: new Array<Int32Array | undefined>(n),
    visitNear: neighbourhoods(directions, n, longest),
  };
}

function companionsOf(index: FieldIndex, i: number): Int32Array {
  let list = index.companions[i];
  if (!list) {
    const near: number[] = [];
    index.visitNear(i, (j) => near.push(j));
    near.sort((a, b) => a - b);
    list = Int32Array.from(near.slice(0, COMPANIONS));
    index.companions[i] = list;
  }
  return list;
}

/** A coarse map of where the brighter spots are, to ask of many poses quickly whether stars fall on spots. */
function quickLook(spots: Spots, radiusFraction: number): {
  plausible: (pose: Rotation, lens: Lens, cap: StarCap, index: FieldIndex, triangleStars: Int32Array, at: number) => boolean;
} {
  const width = Math.max(spots.width, spots.height);
  const radius = Math.max(3, radiusFraction * width);
  const cell = radius / 2;
  const columns = Math.ceil(spots.width / cell) + 1;
  const rows = Math.ceil(spots.height / cell) + 1;
  const map = new Uint8Array(columns * rows);
  const used = Math.min(spots.count, 70);
  let occupied = 0;
  for (let i = 0; i < used; i++) {
    const x = spots.x[i]! / cell, y = spots.y[i]! / cell;
    for (let r = Math.max(0, Math.floor(y - 2)); r <= Math.min(rows - 1, y + 2); r++) {
      for (let c = Math.max(0, Math.floor(x - 2)); c <= Math.min(columns - 1, x + 2); c++) {
        if (Math.hypot(c + 0.5 - x, r + 0.5 - y) > 2 || map[r * columns + c]) continue;
        map[r * columns + c] = 1;
        occupied++;
      }
    }
  }
  const chance = Math.min(0.4, Math.max(1e-3, occupied / map.length));
  const gain = Math.log(0.45 / chance);
  const loss = Math.log(0.55 / (1 - chance));
  return {
    plausible(pose, lens, cap, index, triangleStars, at) {
      const a = triangleStars[at]!, b = triangleStars[at + 1]!, c = triangleStars[at + 2]!;
      const list = companionsOf(index, a);
      const f = lens.mirrored ? -lens.focalPixels : lens.focalPixels;
      const d = cap.directions;
      let score = 0;
      for (let n = -1; n < list.length; n++) {
        // First the third corner of the triangle itself, which must fit; then the companions.
        const i = n < 0 ? a : list[n]!;
        if (n >= 0 && (i === a || i === b || i === c)) continue;
        const s = 3 * index.stars[i]!;
        const x = d[s]!, y = d[s + 1]!, z = d[s + 2]!;
        const cz = pose[2] * x + pose[5] * y + pose[8] * z;
        if (!(cz > 0.2)) continue;
        const u = (pose[0] * x + pose[3] * y + pose[6] * z) / cz;
        const v = (pose[1] * x + pose[4] * y + pose[7] * z) / cz;
        let stretch = 1;
        if (lens.radial.length > 0) {
          const t2 = u * u + v * v;
          let sum = 0;
          for (let k = lens.radial.length - 1; k >= 0; k--) sum = (sum + lens.radial[k]!) * t2;
          stretch += sum;
        }
        const px = lens.centreX + f * u * stretch;
        const py = lens.centreY + lens.focalPixels * v * stretch;
        if (px < 0 || py < 0 || px >= spots.width || py >= spots.height) continue;
        const hit = map[Math.floor(py / cell) * columns + Math.floor(px / cell)] === 1;
        if (n < 0) {
          if (!hit) return false;
          continue;
        }
        score += hit ? gain : loss;
        if (score < -4) return false;
      }
      return score > 5;
    },
  };
}
