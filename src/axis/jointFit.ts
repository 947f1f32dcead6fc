import { type Rotation, apply, compose, fromRotationVector, inverse, orthonormalize, rotationAbout } from '../geometry/rotation.js';
import { type Vector, add, cross, dot, scale, subtract, unit } from '../geometry/vector.js';
import type { IdentifiedStar } from '../identify/identifyFrame.js';
import type { Lens } from '../identify/lens.js';
import { invertSymmetric, solveSymmetric } from '../identify/normalEquations.js';
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
  /** How far the camera had moved against the mount in each frame: a rotation vector in the camera frame, at right angles to the axis. */
  readonly slips: readonly Vector[];
  readonly lens: Lens;
}

/** Which of the lens' terms the data are asked for. */
export interface LensChoice {
  readonly radialTerms: number;
  readonly centre: boolean;
  /** The lens is known beforehand: focal length and radial terms stay as they are. */
  readonly lensKnown?: boolean;
  /** Numbers of the frames whose slip is asked for; at most all but two. */
  readonly slipped?: readonly number[];
}

export interface JointFit extends RotatingCamera {
  /** Covariance (radians²) of the axis along `basis`, from the star errors alone. */
  readonly covariance: readonly [number, number, number, number];
  /** Two directions at right angles to the axis: up, then east (as far as the axis allows). */
  readonly basis: readonly [Vector, Vector];
  /** One-sigma error of the slips asked for, radians (the mean of both ways); 0 for the others. */
  readonly slipSigmas: readonly number[];
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
const MOST_ITERATIONS = 15;
/** Steps smaller than this end the iteration, radians: 0.0002″. */
const SETTLED = 1e-9;

/**
 * One weighted least squares over the star places of all frames: axis (2), pose (3), the turn of each frame but the
 * first, and the lens they share; Cauchy loss. Each star's catalogue error is an unknown of its own, common to its
 * frames and held by its sigma, and is eliminated star by star. Gauss-Newton from a start within some pixels.
 * Returns null where the data do not fix the unknowns.
 */
export function jointFit(frames: readonly FrameStars[], start: RotatingCamera, choice: LensChoice, width: number): JointFit | null {
  const sightings = collectSightings(frames);
  const layout = layOut(frames.length, choice);
  const { size } = layout;
  if (2 * sightings.count < size + 2) return null;

  let camera: RotatingCamera = { ...start, lens: choice.lensKnown ? start.lens : withTerms(start.lens, choice.radialTerms) };
  const { centreX, centreY } = start.lens;
  const offsets = new Float64Array(2 * sightings.sigma.length);
  const normal = new Float64Array(size * size);
  const right = new Float64Array(size);
  const holdCentre = (): void => {
    if (layout.centre < 0) return;
    const weight = 1 / (CENTRE_PRIOR * width) ** 2;
    normal[layout.centre * (size + 1)]! += weight;
    normal[(layout.centre + 1) * (size + 1)]! += weight;
    right[layout.centre]! += weight * (centreX - camera.lens.centreX);
    right[layout.centre + 1]! += weight * (centreY - camera.lens.centreY);
  };
  for (let iteration = 0; iteration < MOST_ITERATIONS; iteration++) {
    const basis = axisBasis(camera.axis);
    if (!Number.isFinite(accumulate(sightings, camera, basis, offsets, layout, normal, right, null))) return null;
    holdCentre();
    const step = solveSymmetric(normal, right, size);
    if (!step) return null;
    accumulate(sightings, camera, basis, offsets, layout, null, null, step);
    camera = moved(camera, basis, step, layout);
    if (!(camera.lens.focalPixels > 0)) return null;
    // A thousandth of what the best data could tell.
    if (Math.hypot(step[0]!, step[1]!) < SETTLED && Math.hypot(step[2]!, step[3]!, step[4]!) < SETTLED) break;
  }
  camera = { ...camera, pose: orthonormalize(camera.pose) };
  const basis = axisBasis(camera.axis);
  const chiSquared = accumulate(sightings, camera, basis, offsets, layout, normal, right, null);
  holdCentre();
  const covariance = invertSymmetric(normal, size);
  if (!covariance || !Number.isFinite(chiSquared)) return null;
  return {
    ...camera,
    basis,
    covariance: [covariance[0]!, covariance[1]!, covariance[size]!, covariance[size + 1]!],
    slipSigmas: layout.slip.map((at) => (at < 0 ? 0 : Math.sqrt((covariance[at * (size + 1)]! + covariance[(at + 1) * (size + 1)]!) / 2))),
    chiSquared,
    freedom: 2 * sightings.count - size,
    ...frameResiduals(sightings, camera, offsets),
  };
}

/** Where each unknown stands: axis 0 and 1, pose 2 to 4, then as numbered here; centre is -1 where it is not asked for. */
interface Layout {
  readonly angle: number;
  readonly focal: number;
  readonly radial: number;
  readonly radialTerms: number;
  readonly centre: number;
  /** Of each frame, -1 where its slip is not asked for. */
  readonly slip: readonly number[];
  readonly size: number;
}

function layOut(frames: number, { radialTerms: asked, centre, lensKnown = false, slipped = [] }: LensChoice): Layout {
  const afterAngles = 5 + frames - 1;
  const focal = lensKnown ? -1 : afterAngles;
  const radial = afterAngles + (lensKnown ? 0 : 1);
  const radialTerms = lensKnown ? 0 : asked;
  const end = radial + radialTerms;
  const afterLens = end + (centre ? 2 : 0);
  const slip = Array.from({ length: frames }, (_, i) => (slipped.includes(i) ? afterLens + 2 * slipped.indexOf(i) : -1));
  return { angle: 5, focal, radial, radialTerms, centre: centre ? end : -1, slip, size: afterLens + 2 * slipped.length };
}

/** Up and east at the axis. */
export function axisBasis(axis: Vector): [Vector, Vector] {
  const vertical: Vector = Math.abs(axis[2]) < 1 - 1e-9 ? [0, 0, 1] : [0, -1, 0];
  const up = unit(subtract(vertical, scale(axis, dot(axis, vertical))));
  // Facing along the axis with the head up, the right hand is axis × up; that is east for an axis in the north.
  return [up, cross(axis, up)];
}

/** The pose (camera to local) of a frame. */
export function poseOf(camera: RotatingCamera, frame: number): Rotation {
  return compose(rotationAbout(camera.axis, camera.angles[frame]!), slippedPose(camera, frame));
}

function slippedPose(camera: RotatingCamera, frame: number): Rotation {
  return compose(camera.pose, fromRotationVector(camera.slips[frame]!));
}

/** Two directions in the camera frame at right angles to the axis: the ways in which a slip shows. */
function slipBasis(camera: RotatingCamera): [Vector, Vector] {
  return axisBasis(apply(inverse(camera.pose), camera.axis));
}

/** All sightings, those of one catalogue star next to each other, in flat arrays: the fit passes over them many times. */
interface Sightings {
  readonly count: number;
  readonly frame: Int32Array;
  /** Sightings of star g are first[g] … first[g + 1] - 1. */
  readonly first: Int32Array;
  /** Catalogue sigma of star g, radians. */
  readonly sigma: Float64Array;
  /** 9 numbers a sighting: local direction, tangent toward the pole, tangent at right angles to it. */
  readonly vectors: Float64Array;
  /** 3 numbers a sighting: x, y, variance of each, pixels. */
  readonly seen: Float64Array;
}

function collectSightings(frames: readonly FrameStars[]): Sightings {
  const byNumber = new Map<number, { frame: number; star: IdentifiedStar }[]>();
  frames.forEach(({ stars }, frame) => {
    for (const star of stars) {
      const group = byNumber.get(star.catalogue);
      if (group) group.push({ frame, star });
      else byNumber.set(star.catalogue, [{ frame, star }]);
    }
  });
  const count = frames.reduce((sum, { stars }) => sum + stars.length, 0);
  const s = {
    count,
    frame: new Int32Array(count),
    first: new Int32Array(byNumber.size + 1),
    sigma: new Float64Array(byNumber.size),
    vectors: new Float64Array(9 * count),
    seen: new Float64Array(3 * count),
  };
  let n = 0;
  let g = 0;
  for (const group of byNumber.values()) {
    s.sigma[g] = group[0]!.star.catalogueSigma;
    for (const { frame, star } of group) {
      const { direction, detection } = star;
      const pole = frames[frame]!.pole;
      const toPole = unit(subtract(pole, scale(direction, dot(pole, direction))));
      s.frame[n] = frame;
      s.vectors.set(direction, 9 * n);
      s.vectors.set(toPole, 9 * n + 3);
      s.vectors.set(cross(direction, toPole), 9 * n + 6);
      s.seen[3 * n] = detection.x;
      s.seen[3 * n + 1] = detection.y;
      s.seen[3 * n + 2] = detection.sigma ** 2 + MODEL_FLOOR ** 2;
      n++;
    }
    s.first[++g] = n;
  }
  return s;
}

/**
 * One pass over all stars. With `normal` and `right` it builds the normal equations (upper triangle) of the shared
 * unknowns; with `step` instead, it moves the stars' own offsets by what that step leaves for them. Returns the robust
 * chi-squared, NaN where a star falls behind the camera.
 */
function accumulate(
  sightings: Sightings, camera: RotatingCamera, basis: readonly [Vector, Vector], offsets: Float64Array, layout: Layout,
  normal: Float64Array | null, right: Float64Array | null, step: Float64Array | null,
): number {
  const { size } = layout;
  normal?.fill(0);
  right?.fill(0);
  const p = new Float64Array(PROJECTION.length);
  const jx = new Float64Array(size);
  const jy = new Float64Array(size);
  const coupling = new Float64Array(2 * size);
  const c = new Float64Array(3);
  const c1 = new Float64Array(3);
  const c2 = new Float64Array(3);
  const slips = slipBasis(camera);
  const turns = camera.angles.map((_, frame) => frameTurn(camera, basis, slips, frame));
  let chi = 0;
  for (let g = 0; g < sightings.sigma.length; g++) {
    const prior = 1 / sightings.sigma[g]! ** 2;
    const ox = offsets[2 * g]!, oy = offsets[2 * g + 1]!;
    // The star's own 2x2 block, its right side, and its coupling to the shared unknowns.
    let m00 = prior, m01 = 0, m11 = prior, b0 = -prior * ox, b1 = -prior * oy;
    coupling.fill(0);
    chi += prior * (ox * ox + oy * oy);
    for (let n = sightings.first[g]!; n < sightings.first[g + 1]!; n++) {
      const frame = sightings.frame[n]!;
      const turn = turns[frame]!;
      turnInto(turn.toCamera, sightings.vectors, 9 * n + 3, c1);
      turnInto(turn.toCamera, sightings.vectors, 9 * n + 6, c2);
      turnInto(turn.toCamera, sightings.vectors, 9 * n, c);
      for (let k = 0; k < 3; k++) c[k]! += ox * c1[k]! + oy * c2[k]!;
      if (!project(camera.lens, c[0]!, c[1]!, c[2]!, p)) return NaN;
      const dx = sightings.seen[3 * n]! - p[0]!;
      const dy = sightings.seen[3 * n + 1]! - p[1]!;
      const s2 = sightings.seen[3 * n + 2]!;
      const q = (dx * dx + dy * dy) / s2 / ROBUST ** 2;
      const w = 1 / s2 / (1 + q);
      chi += ROBUST ** 2 * Math.log1p(q);

      fillRow(jx, p, 0, c, turn, frame, layout);
      fillRow(jy, p, 1, c, turn, frame, layout);
      const bx0 = along(p, 2, c1), bx1 = along(p, 2, c2), by0 = along(p, 5, c1), by1 = along(p, 5, c2);
      m00 += w * (bx0 * bx0 + by0 * by0);
      m01 += w * (bx0 * bx1 + by0 * by1);
      m11 += w * (bx1 * bx1 + by1 * by1);
      b0 += w * (bx0 * dx + by0 * dy);
      b1 += w * (bx1 * dx + by1 * dy);
      for (let r = 0; r < size; r++) {
        const x = w * jx[r]!, y = w * jy[r]!;
        if (x === 0 && y === 0) continue;
        coupling[2 * r]! += x * bx0 + y * by0;
        coupling[2 * r + 1]! += x * bx1 + y * by1;
        if (!normal || !right) continue;
        right[r]! += x * dx + y * dy;
        for (let k = r; k < size; k++) normal[r * size + k]! += x * jx[k]! + y * jy[k]!;
      }
    }
    const determinant = m00 * m11 - m01 * m01;
    const i00 = m11 / determinant, i01 = -m01 / determinant, i11 = m00 / determinant;
    if (step) {
      let r0 = b0, r1 = b1;
      for (let r = 0; r < size; r++) {
        r0 -= coupling[2 * r]! * step[r]!;
        r1 -= coupling[2 * r + 1]! * step[r]!;
      }
      offsets[2 * g] = ox + i00 * r0 + i01 * r1;
      offsets[2 * g + 1] = oy + i01 * r0 + i11 * r1;
    }
    if (!normal || !right) continue;
    for (let r = 0; r < size; r++) {
      const u = coupling[2 * r]! * i00 + coupling[2 * r + 1]! * i01;
      const v = coupling[2 * r]! * i01 + coupling[2 * r + 1]! * i11;
      if (u === 0 && v === 0) continue;
      right[r]! -= u * b0 + v * b1;
      for (let k = r; k < size; k++) normal[r * size + k]! -= u * coupling[2 * k]! + v * coupling[2 * k + 1]!;
    }
  }
  return chi;
}

/** What one frame's turn does to a camera direction c, and how c moves with the axis and the angle: all linear in c. */
interface FrameTurn {
  /** Local to camera. */
  readonly toCamera: Rotation;
  /** ∂c/∂axis along each basis vector, and ∂c/∂angle, as matrices that act on c. */
  readonly changes: readonly [Rotation, Rotation, Rotation];
  /** The slip as a rotation, and the two ways in which it may grow. */
  readonly slip: Rotation;
  readonly slipBasis: readonly [Vector, Vector];
}

function frameTurn(camera: RotatingCamera, basis: readonly [Vector, Vector], slips: readonly [Vector, Vector], frame: number): FrameTurn {
  const fromCamera = poseOf(camera, frame);
  const atStart = slippedPose(camera, frame);
  const toStart = inverse(atStart);
  const a = camera.axis;
  const angle = camera.angles[frame]!;
  const sine = Math.sin(angle), versine = 1 - Math.cos(angle);
  // Tilting the axis by t changes R(a, -θ)d by -(t × d)·sinθ + (t(a·d) + a(t·d))(1 - cosθ); turning changes it by -a × R(a, -θ)d.
  const tilt = (t: Vector): Rotation => compose(toStart, compose(matrix((d) =>
    add(scale(cross(t, d), -sine), add(scale(t, dot(a, d) * versine), scale(a, dot(t, d) * versine)))), fromCamera));
  const spin = compose(toStart, compose(matrix((d) => scale(cross(a, d), -1)), atStart));
  return {
    toCamera: inverse(fromCamera), changes: [tilt(basis[0]), tilt(basis[1]), spin],
    slip: fromRotationVector(camera.slips[frame]!), slipBasis: slips,
  };
}

/** The matrix of a linear map. */
function matrix(map: (v: Vector) => Vector): Rotation {
  const x = map([1, 0, 0]), y = map([0, 1, 0]), z = map([0, 0, 1]);
  return [x[0], y[0], z[0], x[1], y[1], z[1], x[2], y[2], z[2]];
}

/** One row of the Jacobian: the derivatives of x (half 0) or y (half 1) by the shared unknowns. */
function fillRow(j: Float64Array, p: Float64Array, half: number, c: Float64Array, turn: FrameTurn, frame: number, layout: Layout): void {
  const at = 2 + 3 * half;
  const px = p[at]!, py = p[at + 1]!, pz = p[at + 2]!;
  const x = c[0]!, y = c[1]!, z = c[2]!;
  j.fill(0);
  for (let k = 0; k < 3; k++) {
    if (k === 2 && frame === 0) break;
    const m = turn.changes[k]!;
    j[k < 2 ? k : layout.angle + frame - 1] =
      px * (m[0] * x + m[1] * y + m[2] * z) + py * (m[3] * x + m[4] * y + m[5] * z) + pz * (m[6] * x + m[7] * y + m[8] * z);
  }
  // Turning the camera by w moves c by c × w; the pose turns before the slip, the slip after it.
  const wx = py * z - pz * y, wy = pz * x - px * z, wz = px * y - py * x;
  const s = turn.slip;
  j[2] = s[0] * wx + s[1] * wy + s[2] * wz;
  j[3] = s[3] * wx + s[4] * wy + s[5] * wz;
  j[4] = s[6] * wx + s[7] * wy + s[8] * wz;
  const slip = layout.slip[frame]!;
  if (slip >= 0) {
    for (let k = 0; k < 2; k++) j[slip + k] = wx * turn.slipBasis[k]![0] + wy * turn.slipBasis[k]![1] + wz * turn.slipBasis[k]![2];
  }
  if (layout.focal >= 0) j[layout.focal] = p[PROJECTION.xByFocal + half]!;
  for (let k = 0; k < layout.radialTerms; k++) j[layout.radial + k] = p[PROJECTION.byRadial + 2 * k + half]!;
  if (layout.centre >= 0) j[layout.centre + half] = 1;
}

function turnInto(r: Rotation, from: Float64Array, at: number, out: Float64Array): void {
  const x = from[at]!, y = from[at + 1]!, z = from[at + 2]!;
  out[0] = r[0] * x + r[1] * y + r[2] * z;
  out[1] = r[3] * x + r[4] * y + r[5] * z;
  out[2] = r[6] * x + r[7] * y + r[8] * z;
}

function along(p: Float64Array, at: number, v: Float64Array): number {
  return p[at]! * v[0]! + p[at + 1]! * v[1]! + p[at + 2]! * v[2]!;
}

function moved(camera: RotatingCamera, basis: readonly [Vector, Vector], step: Float64Array, layout: Layout): RotatingCamera {
  const { lens } = camera;
  const slips = slipBasis(camera);
  return {
    axis: unit(add(camera.axis, add(scale(basis[0], step[0]!), scale(basis[1], step[1]!)))),
    pose: compose(camera.pose, fromRotationVector([step[2]!, step[3]!, step[4]!])),
    angles: camera.angles.map((angle, i) => (i === 0 ? angle : angle + step[layout.angle + i - 1]!)),
    slips: camera.slips.map((slip, i) => {
      const at = layout.slip[i]!;
      return at < 0 ? slip : add(slip, add(scale(slips[0], step[at]!), scale(slips[1], step[at + 1]!)));
    }),
    lens: {
      ...lens,
      focalPixels: lens.focalPixels + (layout.focal >= 0 ? step[layout.focal]! : 0),
      radial: lens.radial.map((k, i) => (i < layout.radialTerms ? k + step[layout.radial + i]! : k)),
      centreX: lens.centreX + (layout.centre >= 0 ? step[layout.centre]! : 0),
      centreY: lens.centreY + (layout.centre >= 0 ? step[layout.centre + 1]! : 0),
    },
  };
}

function withTerms(lens: Lens, terms: number): Lens {
  return { ...lens, radial: Array.from({ length: terms }, (_, k) => lens.radial[k] ?? 0) };
}

function frameResiduals(sightings: Sightings, camera: RotatingCamera, offsets: Float64Array): { rms: number[]; used: number[] } {
  const p = new Float64Array(PROJECTION.length);
  const sum = camera.angles.map(() => 0);
  const used = camera.angles.map(() => 0);
  const toCamera = camera.angles.map((_, frame) => inverse(poseOf(camera, frame)));
  const { vectors, seen } = sightings;
  for (let g = 0; g < sightings.sigma.length; g++) {
    for (let n = sightings.first[g]!; n < sightings.first[g + 1]!; n++) {
      const frame = sightings.frame[n]!;
      const d = [0, 1, 2].map((k) => vectors[9 * n + k]! + offsets[2 * g]! * vectors[9 * n + 3 + k]! + offsets[2 * g + 1]! * vectors[9 * n + 6 + k]!);
      const c = apply(toCamera[frame]!, d as unknown as Vector);
      if (!project(camera.lens, c[0], c[1], c[2], p)) continue;
      const q = (seen[3 * n]! - p[0]!) ** 2 + (seen[3 * n + 1]! - p[1]!) ** 2;
      if (q > 25 * seen[3 * n + 2]!) continue;
      sum[frame]! += q;
      used[frame]!++;
    }
  }
  return { rms: sum.map((s, i) => Math.sqrt(s / Math.max(1, 2 * used[i]!))), used };
}
