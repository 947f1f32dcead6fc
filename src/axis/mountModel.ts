import { type Rotation, apply, axisAndAngle, compose, fromRotationVector, inverse } from '../geometry/rotation.js';
import { type Vector, add, angleBetween, cross, dot, norm, scale, subtract, unit } from '../geometry/vector.js';
import type { Lens } from '../identify/lens.js';
import { type Basis, anyBasis, axisBasis } from './axisBasis.js';

/** Which frames share what: indexes from 0 without gaps. */
export interface Grouping {
  /** Of each frame: frames with the same index had one axis. */
  readonly stance: readonly number[];
  /** Of each frame: in frames with the same index the camera had not moved on the right-ascension body. */
  readonly mounting: readonly number[];
}

/**
 * A camera on a mount: all that the pixels of all stars depend on. In every frame the pose carries the centre of its mounting to the axis
 * of its stance; the turn about the axis is free in each pose.
 */
export interface MountModel extends Grouping {
  /** Local direction of the axis in each stance, length 1. */
  readonly axes: readonly Vector[];
  /** Camera direction of the axis in each mounting, length 1. */
  readonly centres: readonly Vector[];
  /** Camera to local, of each frame. */
  readonly poses: readonly Rotation[];
  readonly lens: Lens;
}

/** All frames of one stance and one mounting. */
export function oneGroup(frames: number): Grouping {
  return { stance: new Array<number>(frames).fill(0), mounting: new Array<number>(frames).fill(0) };
}

/** A model from poses that fit it nearly: each is turned by the smallest angle that carries its centre to its axis. */
export function alignedModel(
  poses: readonly Rotation[], grouping: Grouping, axes: readonly Vector[], centres: readonly Vector[], lens: Lens,
): MountModel {
  const { stance, mounting } = grouping;
  return { stance, mounting, axes, centres, lens, poses: poses.map((pose, i) => aligned(pose, centres[mounting[i]!]!, axes[stance[i]!]!)) };
}

/** The pose turned by the smallest angle that carries `centre` (camera) to `axis` (local). */
function aligned(pose: Rotation, centre: Vector, axis: Vector): Rotation {
  const seen = apply(pose, centre);
  const across = cross(seen, axis);
  const sine = norm(across);
  return sine > 0 ? compose(fromRotationVector(scale(across, angleBetween(seen, axis) / sine)), pose) : pose;
}

/** A model of one stance and mounting about an axis. */
export function modelAbout(axis: Vector, poses: readonly Rotation[], lens: Lens): MountModel {
  return alignedModel(poses, oneGroup(poses.length), [axis], [unit(apply(inverse(poses[0]!), axis))], lens);
}

/** The same frames with another grouping of the camera: each mounting's centre by the first of its frames. */
export function regrouped(model: MountModel, poses: readonly Rotation[], axis: Vector, mounting: readonly number[]): MountModel {
  const centres: Vector[] = [];
  mounting.forEach((m, i) => { centres[m] ??= unit(apply(inverse(poses[i]!), axis)); });
  return alignedModel(poses, { stance: model.stance, mounting }, [axis], centres, model.lens);
}

/** The same frames, each camera independent of the others: for lens and stars alone. */
export function freed(model: MountModel): MountModel {
  return {
    ...model, mounting: model.poses.map((_, i) => i),
    centres: model.poses.map((pose, i) => unit(apply(inverse(pose), model.axes[model.stance[i]!]!))),
  };
}

/** Right-handed turn about the axis from frame 0 to each frame, radians, -π to π. */
export function turnsOf({ poses, axes, stance }: MountModel): number[] {
  return poses.map((pose, i) => twist(compose(pose, inverse(poses[0]!)), axes[stance[i]!]!));
}

/** The part of a rotation that is about an axis. */
export function twist(rotation: Rotation, axis: Vector): number {
  const { axis: about, angle } = axisAndAngle(rotation);
  return 2 * Math.atan2(dot(about, axis) * Math.sin(angle / 2), Math.cos(angle / 2));
}

/** Directions along which each axis and each centre may move. */
export interface Frames {
  readonly axes: readonly Basis[];
  readonly centres: readonly Basis[];
}

export function basesOf({ axes, centres }: MountModel): Frames {
  return { axes: axes.map(axisBasis), centres: centres.map(anyBasis) };
}

/** Which of the lens' terms are fitted. */
export interface LensChoice {
  readonly radialTerms: number;
  readonly centre: boolean;
  readonly tangential?: boolean;
  /** The lens is known beforehand: focal length and radial terms stay as they are. */
  readonly lensKnown?: boolean;
  /** The axes stay fixed: for a model in which each frame's camera is independent, see {@link freed}. */
  readonly axesHeld?: boolean;
}

/** The index of each unknown: two for each axis, two for each centre, one turn for each frame, the lens; -1 where it is not fitted. */
export interface Layout {
  readonly centres: number;
  readonly turns: number;
  readonly focal: number;
  readonly radial: number;
  readonly radialTerms: number;
  readonly middle: number;
  readonly tangential: number;
  readonly size: number;
}

export function layOut(
  { axes, centres, poses }: MountModel, { radialTerms: asked, centre, tangential = false, lensKnown = false }: LensChoice,
): Layout {
  const turns = 2 * (axes.length + centres.length);
  const afterTurns = turns + poses.length;
  const focal = lensKnown ? -1 : afterTurns;
  const radial = afterTurns + (lensKnown ? 0 : 1);
  const radialTerms = lensKnown ? 0 : asked;
  const end = radial + radialTerms;
  const afterMiddle = end + (centre ? 2 : 0);
  return {
    centres: 2 * axes.length, turns, focal, radial, radialTerms, middle: centre ? end : -1,
    tangential: tangential ? afterMiddle : -1, size: afterMiddle + (tangential ? 2 : 0),
  };
}

/** How a frame's camera turns with each of its five own unknowns (rotation vectors in the camera frame), and the indexes of those. */
export interface FrameTurns {
  /** Local to camera. */
  readonly toCamera: Rotation;
  /** 15 numbers: for the axis (2), the centre (2), the turn. */
  readonly turns: Float64Array;
  /** Indexes of all unknowns that the frame depends on, ascending: the five, then the lens'. */
  readonly unknowns: Int32Array;
}

export function frameTurns(model: MountModel, bases: Frames, layout: Layout, frame: number): FrameTurns {
  const [s, m] = [model.stance[frame]!, model.mounting[frame]!];
  const toCamera = inverse(model.poses[frame]!);
  const axis = model.axes[s]!;
  const centre = model.centres[m]!;
  // The pose must turn by w with w × axis = δaxis − pose·δcentre; the part of w along the axis is the turn.
  const byAxis = bases.axes[s]!.map((e) => apply(toCamera, cross(axis, e)));
  const byCentre = bases.centres[m]!.map((f) => scale(cross(centre, f), -1));
  const lens = [layout.focal, ...Array.from({ length: layout.radialTerms }, (_, k) => layout.radial + k)].filter((k) => k >= 0);
  return {
    toCamera,
    turns: Float64Array.from([...byAxis, ...byCentre, centre].flat()),
    unknowns: Int32Array.from([
      2 * s, 2 * s + 1, layout.centres + 2 * m, layout.centres + 2 * m + 1, layout.turns + frame, ...lens,
      ...(layout.middle < 0 ? [] : [layout.middle, layout.middle + 1]),
      ...(layout.tangential < 0 ? [] : [layout.tangential, layout.tangential + 1]),
    ]),
  };
}

/** The model after a step of the unknowns. */
export function movedModel(model: MountModel, bases: Frames, step: Float64Array, layout: Layout): MountModel {
  const shift = ([a, b]: Basis, at: number): Vector => add(scale(a, step[at]!), scale(b, step[at + 1]!));
  const axisSteps = bases.axes.map((b, s) => shift(b, 2 * s));
  const centreSteps = bases.centres.map((b, m) => shift(b, layout.centres + 2 * m));
  const axes = model.axes.map((axis, s) => unit(add(axis, axisSteps[s]!)));
  const centres = model.centres.map((centre, m) => unit(add(centre, centreSteps[m]!)));
  const poses = model.poses.map((pose, i) => {
    const [s, m] = [model.stance[i]!, model.mounting[i]!];
    const axis = model.axes[s]!;
    const w = add(cross(axis, subtract(axisSteps[s]!, apply(pose, centreSteps[m]!))), scale(axis, step[layout.turns + i]!));
    return aligned(compose(fromRotationVector(w), pose), centres[m]!, axes[s]!);
  });
  const { lens } = model;
  return {
    ...model, axes, centres, poses,
    lens: {
      ...lens,
      focalPixels: lens.focalPixels + (layout.focal >= 0 ? step[layout.focal]! : 0),
      radial: lens.radial.map((k, i) => (i < layout.radialTerms ? k + step[layout.radial + i]! : k)),
      centreX: lens.centreX + (layout.middle >= 0 ? step[layout.middle]! : 0),
      centreY: lens.centreY + (layout.middle >= 0 ? step[layout.middle + 1]! : 0),
      ...(layout.tangential >= 0 ? {
        tangential: [
          (lens.tangential?.[0] ?? 0) + step[layout.tangential]!, (lens.tangential?.[1] ?? 0) + step[layout.tangential + 1]!,
        ] as const,
      } : {}),
    },
  };
}
