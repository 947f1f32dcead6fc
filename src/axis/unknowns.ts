import { type Rotation, compose, fromRotationVector, inverse } from '../geometry/rotation.js';
import { type Vector, add, cross, dot, scale, unit } from '../geometry/vector.js';
import { PROJECTION } from '../identify/projection.js';
import { type RotatingCamera, poseOf, slipBasis, slippedPose } from './rotatingCamera.js';

/** Which of the lens' terms the data are asked for. */
export interface LensChoice {
  readonly radialTerms: number;
  readonly centre: boolean;
  /** The lens is known beforehand: focal length and radial terms stay as they are. */
  readonly lensKnown?: boolean;
  /** Numbers of the frames whose slip is asked for; at most all but two. */
  readonly slipped?: readonly number[];
}

/** Where each unknown stands: axis 0 and 1, pose 2 to 4, then as numbered here; centre is -1 where it is not asked for. */
export interface Layout {
  readonly angle: number;
  readonly focal: number;
  readonly radial: number;
  readonly radialTerms: number;
  readonly centre: number;
  /** Of each frame, -1 where its slip is not asked for. */
  readonly slip: readonly number[];
  readonly size: number;
}

/** Numbers the unknowns. */
export function layOut(frames: number, { radialTerms: asked, centre, lensKnown = false, slipped = [] }: LensChoice): Layout {
  const afterAngles = 5 + frames - 1;
  const focal = lensKnown ? -1 : afterAngles;
  const radial = afterAngles + (lensKnown ? 0 : 1);
  const radialTerms = lensKnown ? 0 : asked;
  const end = radial + radialTerms;
  const afterLens = end + (centre ? 2 : 0);
  const slip = Array.from({ length: frames }, (_, i) => (slipped.includes(i) ? afterLens + 2 * slipped.indexOf(i) : -1));
  return { angle: 5, focal, radial, radialTerms, centre: centre ? end : -1, slip, size: afterLens + 2 * slipped.length };
}

/** The camera after a step of the unknowns. */
export function moved(camera: RotatingCamera, basis: readonly [Vector, Vector], step: Float64Array, layout: Layout): RotatingCamera {
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

/** What one frame's turn does to a camera direction c, and how c moves with the axis and the angle: all linear in c. */
export interface FrameTurn {
  /** Local to camera. */
  readonly toCamera: Rotation;
  /** ∂c/∂axis along each basis vector, and ∂c/∂angle, as matrices that act on c. */
  readonly changes: readonly [Rotation, Rotation, Rotation];
  /** The slip as a rotation, and the two ways in which it may grow. */
  readonly slip: Rotation;
  readonly slipBasis: readonly [Vector, Vector];
}

export function frameTurn(camera: RotatingCamera, basis: readonly [Vector, Vector], slips: readonly [Vector, Vector], frame: number): FrameTurn {
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
export function fillRow(j: Float64Array, p: Float64Array, half: number, c: Float64Array, turn: FrameTurn, frame: number, layout: Layout): void {
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
