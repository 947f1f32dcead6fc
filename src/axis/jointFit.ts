import { Matrix, inverse as invertMatrix } from 'ml-matrix';
import { type Rotation, apply, compose, fromRotationVector, inverse, orthonormalize, rotationAbout } from '../geometry/rotation.js';
import { type Vector, add, cross, dot, scale, subtract, unit } from '../geometry/vector.js';
import { solveSymmetric } from '../identify/fitPose.js';
import type { IdentifiedStar } from '../identify/identifyFrame.js';
import type { Lens } from '../identify/lens.js';
import { PROJECTION, project } from '../identify/projection.js';

/** The stars of one frame for the joint fit. */
export interface FrameStars {
  readonly stars: readonly IdentifiedStar[];
  /** A pole in the frame's local directions: it ties the catalogue error of a star in one frame to that in the next. */
  readonly pole: Vector;
}

/** Camera, axis and rotations: all that the pixels of all stars follow from. */
export interface RotatingCamera {
  /** Local direction of the axis, length 1. */
  readonly axis: Vector;
  /** Camera to local, at angle 0. */
  readonly pose: Rotation;
  /** Right-handed turn about the axis of each frame, radians; the first is 0. */
  readonly angles: readonly number[];
  readonly lens: Lens;
}

/** Which of the lens' terms the data are asked for. */
export interface LensChoice {
  readonly radialTerms: number;
  readonly centre: boolean;
}

export interface JointFit extends RotatingCamera {
  /** Covariance (radians²) of the axis along `basis`, from the star errors alone. */
  readonly covariance: readonly [number, number, number, number];
  /** Two directions at right angles to the axis: up, then east (as far as the axis allows). */
  readonly basis: readonly [Vector, Vector];
  /** Robust chi-squared and its degrees of freedom. */
  readonly chiSquared: number;
  readonly freedom: number;
  /** Root mean square residual in each coordinate of each frame, pixels, outliers left out. */
  readonly rms: readonly number[];
  /** Stars of each frame that took part, outliers left out. */
  readonly used: readonly number[];
}

/** Residuals beyond this many sigma lose weight (Cauchy loss). */
const ROBUST = 3;
/** What no star error explains: pixels are not perfect squares, lenses not perfectly round. Pixels. */
const MODEL_FLOOR = 0.01;
/** Before the data speak, the principal point is thought to lie this near the centre, share of the width. */
const CENTRE_PRIOR = 0.03;

/**
 * One weighted least squares over the star places of all frames: axis (2), pose (3), the turn of each frame but the
 * first, and the lens they share; Cauchy loss. Each star's catalogue error is an unknown of its own, common to its
 * frames and held by its sigma, and is eliminated star by star. Gauss-Newton from a start within some pixels.
 * Returns null where the data do not fix the unknowns.
 */
export function jointFit(frames: readonly FrameStars[], start: RotatingCamera, choice: LensChoice, width: number): JointFit | null {
  const n = frames.length;
  const iAngle = 5;
  const iFocal = iAngle + n - 1;
  const iRadial = iFocal + 1;
  const iCentre = iRadial + choice.radialTerms;
  const size = iCentre + (choice.centre ? 2 : 0);
  const groups = groupByStar(frames);
  if (2 * groups.observations < size + 2) return null;

  let camera: RotatingCamera = { ...start, lens: withTerms(start.lens, choice.radialTerms) };
  const startCentre = { x: start.lens.centreX, y: start.lens.centreY };
  const offsets = new Float64Array(2 * groups.stars.length);
  const normal = new Float64Array(size * size);
  const right = new Float64Array(size);
  let sums = { chi: 0 };
  for (let iteration = 0; iteration < 15; iteration++) {
    const basis = axisBasis(camera.axis);
    sums = accumulate(frames, groups, camera, basis, offsets, choice, normal, right, null);
    if (!Number.isFinite(sums.chi)) return null;
    if (choice.centre) {
      const weight = 1 / (CENTRE_PRIOR * width) ** 2;
      normal[iCentre * size + iCentre]! += weight;
      normal[(iCentre + 1) * size + iCentre + 1]! += weight;
      right[iCentre]! += weight * (startCentre.x - camera.lens.centreX);
      right[iCentre + 1]! += weight * (startCentre.y - camera.lens.centreY);
    }
    const step = solveSymmetric(normal, right, size);
    if (!step) return null;
    accumulate(frames, groups, camera, basis, offsets, choice, null, null, step);
    camera = moved(camera, basis, step, choice, n);
    if (!(camera.lens.focalPixels > 0)) return null;
    if (Math.hypot(step[0]!, step[1]!) < 1e-11 && Math.hypot(step[2]!, step[3]!, step[4]!) < 1e-10) break;
  }
  const basis = axisBasis(camera.axis);
  sums = accumulate(frames, groups, camera, basis, offsets, choice, normal, right, null);
  if (choice.centre) {
    normal[iCentre * size + iCentre]! += 1 / (CENTRE_PRIOR * width) ** 2;
    normal[(iCentre + 1) * size + iCentre + 1]! += 1 / (CENTRE_PRIOR * width) ** 2;
  }
  const covariance = invertSymmetric(normal, size);
  if (!covariance) return null;
  const residuals = frameResiduals(frames, groups, camera, offsets);
  return {
    ...camera,
    pose: orthonormalize(camera.pose),
    basis,
    covariance: [covariance[0]!, covariance[1]!, covariance[size]!, covariance[size + 1]!],
    chiSquared: sums.chi,
    freedom: 2 * groups.observations - size,
    ...residuals,
  };
}

/** Up and east at the axis. */
export function axisBasis(axis: Vector): [Vector, Vector] {
  const vertical: Vector = Math.abs(axis[2]) < 1 - 1e-9 ? [0, 0, 1] : [0, -1, 0];
  const up = unit(subtract(vertical, scale(axis, dot(axis, vertical))));
  // Facing along the axis with the head up, the right hand is axis × up; that is east for an axis in the north.
  return [up, cross(axis, up)];
}

/** The pose (camera to local) at a turn about the axis. */
export function poseAt(camera: RotatingCamera, angle: number): Rotation {
  return compose(rotationAbout(camera.axis, angle), camera.pose);
}

interface StarGroups {
  readonly observations: number;
  /** For each catalogue star its sightings and the sigma of its place, radians. */
  readonly stars: readonly { readonly sigma: number; readonly seen: readonly { readonly frame: number; readonly star: IdentifiedStar }[] }[];
}

function groupByStar(frames: readonly FrameStars[]): StarGroups {
  const byNumber = new Map<number, { sigma: number; seen: { frame: number; star: IdentifiedStar }[] }>();
  let observations = 0;
  frames.forEach(({ stars }, frame) => {
    for (const star of stars) {
      let group = byNumber.get(star.catalogue);
      if (!group) byNumber.set(star.catalogue, (group = { sigma: star.catalogueSigma, seen: [] }));
      group.seen.push({ frame, star });
      observations++;
    }
  });
  return { observations, stars: [...byNumber.values()] };
}

/**
 * One pass over all stars. With `normal` and `right` it builds the normal equations (upper triangle) of the shared
 * unknowns; with `step` instead, it moves the stars' own offsets by what that step leaves for them.
 */
function accumulate(
  frames: readonly FrameStars[], groups: StarGroups, camera: RotatingCamera, basis: readonly [Vector, Vector],
  offsets: Float64Array, choice: LensChoice,
  normal: Float64Array | null, right: Float64Array | null, step: Float64Array | null,
): { chi: number } {
  const n = frames.length;
  const iFocal = 5 + n - 1;
  const iRadial = iFocal + 1;
  const iCentre = iRadial + choice.radialTerms;
  const size = iCentre + (choice.centre ? 2 : 0);
  normal?.fill(0);
  right?.fill(0);
  const poses = camera.angles.map((angle) => poseAt(camera, angle));
  const toStart = camera.angles.map((angle) => rotationAbout(camera.axis, -angle));
  const toCamera = inverse(camera.pose);
  const axis = camera.axis;
  const p = new Float64Array(PROJECTION.length);
  const jx = new Float64Array(size);
  const jy = new Float64Array(size);
  const eliminate = new Float64Array(2 * size);
  let chi = 0;
  groups.stars.forEach((group, g) => {
    const prior = 1 / group.sigma ** 2;
    const ox = offsets[2 * g]!, oy = offsets[2 * g + 1]!;
    // The star's own 2x2 block, its right side, and its coupling to the shared unknowns.
    let m00 = prior, m01 = 0, m11 = prior, b0 = -prior * ox, b1 = -prior * oy;
    eliminate.fill(0);
    chi += prior * (ox * ox + oy * oy);
    for (const { frame, star } of group.seen) {
      const [e1, e2] = tangent(star.direction, frames[frame]!.pole);
      const direction = add(star.direction, add(scale(e1, ox), scale(e2, oy)));
      const c = apply(inverse(poses[frame]!), direction);
      if (!project(camera.lens, c[0], c[1], c[2], p)) { chi = NaN; return; }
      const dx = star.detection.x - p[0]!;
      const dy = star.detection.y - p[1]!;
      const s2 = star.detection.sigma ** 2 + MODEL_FLOOR ** 2;
      const q = (dx * dx + dy * dy) / s2;
      const w = 1 / s2 / (1 + q / ROBUST ** 2);
      chi += ROBUST ** 2 * Math.log1p(q / ROBUST ** 2);

      const angle = camera.angles[frame]!;
      const back = apply(toStart[frame]!, direction);
      fillRow(jx, p, 0);
      fillRow(jy, p, 1);
      const c1 = apply(toCamera, apply(toStart[frame]!, e1));
      const c2 = apply(toCamera, apply(toStart[frame]!, e2));
      const bx0 = along(p, 2, c1), bx1 = along(p, 2, c2), by0 = along(p, 5, c1), by1 = along(p, 5, c2);
      m00 += w * (bx0 * bx0 + by0 * by0);
      m01 += w * (bx0 * bx1 + by0 * by1);
      m11 += w * (bx1 * bx1 + by1 * by1);
      b0 += w * (bx0 * dx + by0 * dy);
      b1 += w * (bx1 * dx + by1 * dy);
      for (let r = 0; r < size; r++) {
        const x = jx[r]!, y = jy[r]!;
        eliminate[2 * r]! += w * (x * bx0 + y * by0);
        eliminate[2 * r + 1]! += w * (x * bx1 + y * by1);
        if (!normal || !right) continue;
        right[r]! += w * (x * dx + y * dy);
        for (let k = r; k < size; k++) normal[r * size + k]! += w * (x * jx[k]! + y * jy[k]!);
      }

      function fillRow(j: Float64Array, from: Float64Array, half: number): void {
        const at = 2 + 3 * half;
        j.fill(0);
        for (let k = 0; k < 2; k++) {
          const t = basis[k]!;
          // ∂/∂a of d·cosθ - (a × d)·sinθ + a(a·d)(1 - cosθ)
          const sine = Math.sin(angle), versine = 1 - Math.cos(angle);
          const change = add(scale(cross(t, direction), -sine),
            add(scale(t, dot(axis, direction) * versine), scale(axis, dot(t, direction) * versine)));
          j[k] = along(from, at, apply(toCamera, change));
        }
        for (let k = 0; k < 3; k++) j[2 + k] = along(from, at, cross(c, UNIT_VECTORS[k]!));
        if (frame > 0) j[5 + frame - 1] = along(from, at, apply(toCamera, scale(cross(axis, back), -1)));
        j[iFocal] = from[8 + half]!;
        for (let k = 0; k < choice.radialTerms; k++) j[iRadial + k] = from[PROJECTION.byRadial + 2 * k + half]!;
        if (choice.centre) j[iCentre + half] = 1;
      }
    }
    const determinant = m00 * m11 - m01 * m01;
    const i00 = m11 / determinant, i01 = -m01 / determinant, i11 = m00 / determinant;
    if (step) {
      let r0 = b0, r1 = b1;
      for (let r = 0; r < size; r++) {
        r0 -= eliminate[2 * r]! * step[r]!;
        r1 -= eliminate[2 * r + 1]! * step[r]!;
      }
      offsets[2 * g] = ox + i00 * r0 + i01 * r1;
      offsets[2 * g + 1] = oy + i01 * r0 + i11 * r1;
    }
    if (!normal || !right) return;
    for (let r = 0; r < size; r++) {
      const u = eliminate[2 * r]! * i00 + eliminate[2 * r + 1]! * i01;
      const v = eliminate[2 * r]! * i01 + eliminate[2 * r + 1]! * i11;
      if (u === 0 && v === 0) continue;
      right[r]! -= u * b0 + v * b1;
      for (let k = r; k < size; k++) normal[r * size + k]! -= u * eliminate[2 * k]! + v * eliminate[2 * k + 1]!;
    }
  });
  return { chi };
}

const UNIT_VECTORS: readonly Vector[] = [[1, 0, 0], [0, 1, 0], [0, 0, 1]];

function along(p: Float64Array, at: number, v: Vector): number {
  return p[at]! * v[0] + p[at + 1]! * v[1] + p[at + 2]! * v[2];
}

/** Toward the pole and at right angles to it, at a star. */
function tangent(direction: Vector, pole: Vector): [Vector, Vector] {
  const toPole = unit(subtract(pole, scale(direction, dot(pole, direction))));
  return [toPole, cross(direction, toPole)];
}

function moved(camera: RotatingCamera, basis: readonly [Vector, Vector], step: Float64Array, choice: LensChoice, n: number): RotatingCamera {
  const iFocal = 5 + n - 1;
  const iRadial = iFocal + 1;
  const iCentre = iRadial + choice.radialTerms;
  return {
    axis: unit(add(camera.axis, add(scale(basis[0], step[0]!), scale(basis[1], step[1]!)))),
    pose: compose(camera.pose, fromRotationVector([step[2]!, step[3]!, step[4]!])),
    angles: camera.angles.map((angle, i) => (i === 0 ? angle : angle + step[5 + i - 1]!)),
    lens: {
      ...camera.lens,
      focalPixels: camera.lens.focalPixels + step[iFocal]!,
      radial: camera.lens.radial.map((k, i) => (i < choice.radialTerms ? k + step[iRadial + i]! : k)),
      centreX: camera.lens.centreX + (choice.centre ? step[iCentre]! : 0),
      centreY: camera.lens.centreY + (choice.centre ? step[iCentre + 1]! : 0),
    },
  };
}

function withTerms(lens: Lens, terms: number): Lens {
  return { ...lens, radial: Array.from({ length: terms }, (_, k) => lens.radial[k] ?? 0) };
}

function frameResiduals(
  frames: readonly FrameStars[], groups: StarGroups, camera: RotatingCamera, offsets: Float64Array,
): { rms: number[]; used: number[] } {
  const p = new Float64Array(PROJECTION.length);
  const sum = frames.map(() => 0);
  const used = frames.map(() => 0);
  const poses = camera.angles.map((angle) => inverse(poseAt(camera, angle)));
  groups.stars.forEach((group, g) => {
    for (const { frame, star } of group.seen) {
      const [e1, e2] = tangent(star.direction, frames[frame]!.pole);
      const direction = add(star.direction, add(scale(e1, offsets[2 * g]!), scale(e2, offsets[2 * g + 1]!)));
      const c = apply(poses[frame]!, direction);
      if (!project(camera.lens, c[0], c[1], c[2], p)) continue;
      const q = (star.detection.x - p[0]!) ** 2 + (star.detection.y - p[1]!) ** 2;
      if (q > 25 * (star.detection.sigma ** 2 + MODEL_FLOOR ** 2)) continue;
      sum[frame]! += q;
      used[frame]!++;
    }
  });
  return { rms: sum.map((s, i) => Math.sqrt(s / Math.max(1, 2 * used[i]!))), used };
}

function invertSymmetric(upper: Float64Array, size: number): Float64Array | null {
  const unitScale = new Float64Array(size);
  for (let r = 0; r < size; r++) {
    if (!(upper[r * size + r]! > 0)) return null;
    unitScale[r] = 1 / Math.sqrt(upper[r * size + r]!);
  }
  const a = new Matrix(size, size);
  for (let r = 0; r < size; r++) {
    for (let k = r; k < size; k++) {
      const value = upper[r * size + k]! * unitScale[r]! * unitScale[k]!;
      a.set(r, k, value);
      a.set(k, r, value);
    }
  }
  const b = invertMatrix(a);
  const out = new Float64Array(size * size);
  for (let r = 0; r < size; r++) {
    for (let k = 0; k < size; k++) out[r * size + k] = b.get(r, k) * unitScale[r]! * unitScale[k]!;
  }
  return Number.isFinite(out[0]!) ? out : null;
}
