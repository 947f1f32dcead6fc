import { type Rotation, compose, fromRotationVector, orthonormalize } from '../geometry/rotation.js';
import type { Lens } from './lens.js';
import { solveSymmetric } from '../numeric/normalEquations.js';
import { PROJECTION, project } from './projection.js';

/** A pose is the rotation from the camera frame to the frame of the star directions. */
export type Pose = Rotation;

/** Stars and where they were seen: flat arrays so that fits allocate nothing per star. */
export interface Matches {
  readonly count: number;
  /** 3·count direction cosines, length 1 each. */
  readonly directions: Float64Array;
  /** Pixels. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** One-sigma error of x and of y, pixels. */
  readonly sigma: Float64Array;
}

export interface PoseFit {
  readonly pose: Pose;
  readonly lens: Lens;
  /** Root mean square of the residual length / √2 over the stars the robust loss kept (weight > 0.3), pixels. */
  readonly rms: number;
  /** Residual length of each match, pixels. */
  readonly residuals: Float64Array;
}

export interface FitChoice {
  /** Fit the focal length too. */
  readonly focal: boolean;
  /** How many radial terms to fit; 0 keeps those the lens has. */
  readonly radialTerms: number;
  /** Fit the principal point too. */
  readonly centre?: boolean;
  /** Fit the tangential terms too. */
  readonly tangential?: boolean;
  readonly iterations?: number;
  /** Residuals beyond this many sigma lose weight (Cauchy loss); Infinity = plain least squares. */
  readonly robust?: number;
}

/** Steps smaller than this (pixels) end the iteration: it converges so fast that the next would be a thousandth of it. */
const SETTLED = 1e-4;

/**
 * Weighted least squares for one frame's pose, and as asked its focal length, principal point and radial distortion,
 * by Gauss-Newton from a start within a few per cent of the field.
 * Needs at least (3 + parameters)/2 matches; returns null where the normal equations have no solution.
 */
export function fitPose(matches: Matches, pose0: Pose, lens0: Lens, choice: FitChoice): PoseFit | null {
  const n = matches.count;
  const terms = choice.radialTerms;
  const iFocal = 3;
  const iRadial = iFocal + (choice.focal ? 1 : 0);
  const iCentre = iRadial + terms;
  const iTangential = iCentre + (choice.centre ? 2 : 0);
  const size = iTangential + (choice.tangential ? 2 : 0);
  if (2 * n < size) return null;
  const radial = lens0.radial.slice();
  while (radial.length < terms) radial.push(0);
  let pose = pose0;
  let lens: Lens = { ...lens0, radial };
  const p = new Float64Array(PROJECTION.length);
  const c = new Float64Array(3);
  const jx = new Float64Array(size);
  const jy = new Float64Array(size);
  const normal = new Float64Array(size * size);
  const right = new Float64Array(size);
  const residuals = new Float64Array(n);
  const cut2 = (choice.robust ?? Infinity) ** 2;
  const iterations = choice.iterations ?? 6;
  for (let iteration = 0; iteration < iterations; iteration++) {
    normal.fill(0);
    right.fill(0);
    for (let i = 0; i < n; i++) {
      if (!observe(matches, i, pose, lens, c, p)) return null;
      const dx = matches.x[i]! - p[0]!;
      const dy = matches.y[i]! - p[1]!;
      const s2 = matches.sigma[i]! ** 2;
      const w = 1 / s2 / (1 + (dx * dx + dy * dy) / (s2 * cut2));
      // Turning the camera by w moves the direction by c × w.
      for (let half = 0; half < 2; half++) {
        const a = p[2 + 3 * half]!, b = p[3 + 3 * half]!, d = p[4 + 3 * half]!;
        const j = half === 0 ? jx : jy;
        j[0] = b * c[2]! - d * c[1]!;
        j[1] = d * c[0]! - a * c[2]!;
        j[2] = a * c[1]! - b * c[0]!;
        if (choice.focal) j[iFocal] = p[8 + half]!;
        for (let k = 0; k < terms; k++) j[iRadial + k] = p[PROJECTION.byRadial + 2 * k + half]!;
        if (choice.centre) { j[iCentre] = half === 0 ? 1 : 0; j[iCentre + 1] = half; }
        if (choice.tangential) {
          j[iTangential] = p[PROJECTION.byTangential + half]!;
          j[iTangential + 1] = p[PROJECTION.byTangential + 2 + half]!;
        }
      }
      for (let r = 0; r < size; r++) {
        right[r]! += w * (jx[r]! * dx + jy[r]! * dy);
        for (let k = r; k < size; k++) normal[r * size + k]! += w * (jx[r]! * jx[k]! + jy[r]! * jy[k]!);
      }
    }
    const step = solveSymmetric(normal, right, size);
    if (!step) return null;
    // R ← R·exp(w): see jx above for the sign.
    pose = compose(pose, fromRotationVector([step[0]!, step[1]!, step[2]!]));
    const nextRadial = lens.radial.slice();
    for (let k = 0; k < terms; k++) nextRadial[k] = nextRadial[k]! + step[iRadial + k]!;
    lens = {
      ...lens,
      focalPixels: lens.focalPixels + (choice.focal ? step[iFocal]! : 0),
      radial: nextRadial,
      centreX: lens.centreX + (choice.centre ? step[iCentre]! : 0),
      centreY: lens.centreY + (choice.centre ? step[iCentre + 1]! : 0),
      ...(choice.tangential ? {
        tangential: [(lens.tangential?.[0] ?? 0) + step[iTangential]!, (lens.tangential?.[1] ?? 0) + step[iTangential + 1]!] as const,
      } : {}),
    };
    if (!(lens.focalPixels > 0)) return null;
    if (Math.hypot(step[0]!, step[1]!, step[2]!) * lens.focalPixels < SETTLED) break;
  }
  pose = orthonormalize(pose);
  let sum = 0;
  let kept = 0;
  for (let i = 0; i < n; i++) {
    if (!observe(matches, i, pose, lens, c, p)) return null;
    const r2 = (matches.x[i]! - p[0]!) ** 2 + (matches.y[i]! - p[1]!) ** 2;
    residuals[i] = Math.sqrt(r2);
    if (1 / (1 + r2 / (matches.sigma[i]! ** 2 * cut2)) > 0.3) { sum += r2; kept++; }
  }
  const freedom = Math.max(2 * kept - size, 1);
  return { pose, lens, rms: Math.sqrt(sum / freedom), residuals };
}

/** Writes the camera direction of match i into `camera` and its projection into `p`. */
function observe(matches: Matches, i: number, pose: Pose, lens: Lens, camera: Float64Array, p: Float64Array): boolean {
  const d = matches.directions;
  const x = d[3 * i]!, y = d[3 * i + 1]!, z = d[3 * i + 2]!;
  const cx = pose[0] * x + pose[3] * y + pose[6] * z;
  const cy = pose[1] * x + pose[4] * y + pose[7] * z;
  const cz = pose[2] * x + pose[5] * y + pose[8] * z;
  camera[0] = cx;
  camera[1] = cy;
  camera[2] = cz;
  return project(lens, cx, cy, cz, p);
}
