import { apply, inverse } from '../geometry/rotation.js';
import { type Vector, add, angleBetween, cross, dot, fromSpherical, scale, subtract, toSpherical, unit } from '../geometry/vector.js';
import { unrefractDirection } from '../sky/refraction.js';
import {
  type StarPlace, type TurningSky, apparentDirection, declinationAxis, elevatedPole, guideTurn, onMount, placeOf, rotationAboutSight,
} from './misalignedMount.js';

/** A run of exposures, end to end, of one target. */
export interface RunPlan extends TurningSky {
  readonly target: StarPlace;
  readonly hours: number;
  /** At most the run. */
  readonly exposureSeconds: number;
  /** Radians a pixel in the middle of the field. */
  readonly pixel: number;
  /** From the middle of the field to a corner, pixels; 0 where the sensor is unknown. */
  readonly cornerPixels: number;
  /** From the middle of the field to the guide star, radians. */
  readonly guideOffset: number;
}

/** A guide star, the corner farthest from it, and the sky around the guide star, in the local frame at each time. */
export interface GuidedPair {
  readonly guide: readonly Vector[];
  readonly corner: readonly Vector[];
  /** North, south, east and west of the guide star. */
  readonly around: readonly (readonly Vector[])[];
}

/** Where target, guide star and corners appear through a run: the part of a plan that does not depend on the mount's axis. */
export interface RunView {
  readonly plan: RunPlan;
  /** Hours since the start: of each exposure its start, middle and end, one after the other. */
  readonly hours: readonly number[];
  readonly centre: readonly Vector[];
  readonly pairs: readonly GuidedPair[];
  /** Where the camera looks at the start, and its pixel axes. */
  readonly forward: Vector;
  readonly right: Vector;
  readonly down: Vector;
}

/** The effect of a misaligned axis on stars in one exposure, the worst of the run, and over the run. Pixels unless named otherwise. */
export interface UnguidedTrail {
  /** At the field's middle, radians, in the exposure where it is largest. */
  readonly drift: number;
  /** Its parts, radians, north and east positive on the sky. */
  readonly declination: number;
  readonly rightAscension: number;
  readonly pixels: number;
  /** Hours since the start at which that exposure begins. */
  readonly atHours: number;
  /** Largest distance over the run between two positions of the star, pixels. */
  readonly totalPixels: number;
  /** Largest speed in declination during an exposure, radians a minute. */
  readonly declinationPerMinute: number;
}

export interface GuidedTrail {
  /** Largest in one exposure at the corner farthest from the guide star. */
  readonly cornerPixels: number;
  readonly atHours: number;
  /** Largest distance over the run between two positions of the corner's star. */
  readonly totalPixels: number;
  /** Of the field about the guide star from the run's start to its end, radians. + = counter-clockwise on the sky (north through east). */
  readonly fieldRotation: number;
  /** Between the extremes of the run, at least the amount of `fieldRotation`. */
  readonly fieldRotationSpan: number;
}

/** The most steps of the run at which the largest is searched; the sky turns 1.5° in six minutes. */
const STEPS_PER_HOUR = 10;
/** Far enough from the guide star for rounding, near enough for air and curvature, radians. */
const NEAR = 1e-3;
const SMALL = 1e-5;
const MOMENTS = 3;

/**
 * The view of a run. The camera's roll and the side of the guide star are unknown, so corner and guide star are taken on opposite sides of
 * the middle, in each of `directions` directions: the worst counts.
 */
export function runView(plan: RunPlan, stepsPerHour = STEPS_PER_HOUR, directions = 8): RunView {
  const exposureHours = plan.exposureSeconds / 3600;
  const slack = Math.max(0, plan.hours - exposureHours);
  const steps = slack > 0 ? Math.max(8, Math.ceil(slack * stepsPerHour)) : 0;
  const hours: number[] = [];
  for (let k = 0; k <= steps; k++) {
    const begin = steps > 0 ? (slack * k) / steps : 0;
    for (let m = 0; m < MOMENTS; m++) hours.push(begin + (exposureHours * m) / (MOMENTS - 1));
  }
  const through = (place: StarPlace): Vector[] => hours.map((h) => apparentDirection(plan, place, h));
  const forward = apparentDirection(plan, plan.target, 0);
  const [above, below] = [SMALL, -SMALL].map(
    (by) => apparentDirection(plan, { ...plan.target, declination: plan.target.declination + by }, 0),
  );
  const upward = subtract(above!, below!);
  const north = unit(subtract(upward, scale(forward, dot(upward, forward))));
  const right = cross(forward, north);
  const down = scale(north, -1);
  const sightOf = (x: number, y: number): Vector => unit(add(forward, add(scale(right, x), scale(down, y))));
  const unair = (v: Vector): StarPlace => placeOf(unrefractDirection(plan.refraction, v), plan.latitude);
  const pairs: GuidedPair[] = [];
  for (let k = 0; k < directions; k++) {
    const x = Math.cos((2 * Math.PI * k) / directions);
    const y = Math.sin((2 * Math.PI * k) / directions);
    const out = plan.cornerPixels * plan.pixel;
    const off = Math.tan(plan.guideOffset);
    const guide = unair(sightOf(-off * x, -off * y));
    pairs.push({
      guide: through(guide),
      corner: through(unair(sightOf(out * x, out * y))),
      around: neighbours(guide).map(through),
    });
  }
  return { plan, hours, centre: through(plan.target), pairs, forward, right, down };
}

/** North, south, east and west of a place, {@link NEAR} from it; at the pole itself any four directions at right angles. */
function neighbours({ hourAngle, declination }: StarPlace): StarPlace[] {
  const at = fromSpherical(hourAngle, declination);
  const north: Vector = [-Math.sin(declination) * Math.cos(hourAngle), -Math.sin(declination) * Math.sin(hourAngle), Math.cos(declination)];
  const west = cross(north, at);
  return [north, scale(north, -1), scale(west, -1), west].map((side) => {
    const { longitude, latitude } = toSpherical(add(at, scale(side, NEAR)));
    return { hourAngle: longitude, declination: latitude };
  });
}

/** Places on a plane through the run, radians about the first. */
interface Path {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/** Largest distance in one exposure, and the index of its start in the list of times. */
function worstExposure({ x, y }: Path): { length: number; at: number } {
  let length = -1, at = 0;
  for (let i = 0; i + 2 < x.length; i += MOMENTS) {
    const longest = Math.max(
      Math.hypot(x[i + 2]! - x[i]!, y[i + 2]! - y[i]!), Math.hypot(x[i + 1]! - x[i]!, y[i + 1]! - y[i]!),
      Math.hypot(x[i + 2]! - x[i + 1]!, y[i + 2]! - y[i + 1]!),
    );
    // A run that can't be guided is the worst of all.
    if (!(longest <= length)) [length, at] = [Number.isNaN(longest) ? Infinity : longest, i];
    if (length === Infinity) break;
  }
  return { length, at };
}

function extent({ x, y }: Path): number {
  let most = 0;
  for (let i = 0; i < x.length; i++) {
    for (let k = 0; k < i; k++) most = Math.max(most, Math.hypot(x[i]! - x[k]!, y[i]! - y[k]!));
  }
  return most;
}

/** The target's star on the mount, along east and north on the sky there, radians. */
function unguidedPath({ plan, hours, centre, forward, right, down }: RunView, axis: Vector): Path {
  const hemisphere = elevatedPole(plan.latitude);
  const x = new Float64Array(hours.length), y = new Float64Array(hours.length);
  hours.forEach((h, i) => {
    const seen = onMount(axis, hemisphere, h, centre[i]!);
    const angle = angleBetween(forward, seen);
    // Distance and direction from the first place: lengths on the sphere near it.
    const e = -dot(seen, right), n = -dot(seen, down);
    const plane = Math.hypot(e, n);
    const factor = plane > 0 ? angle / plane : 0;
    x[i] = e * factor;
    y[i] = n * factor;
  });
  return { x, y };
}

/** The corner's star in the camera of a guided run, pixels. */
function guidedPath({ plan, hours, forward, right, down }: RunView, { guide, corner }: GuidedPair, axis: Vector): Path {
  const hemisphere = elevatedPole(plan.latitude);
  const x = new Float64Array(hours.length), y = new Float64Array(hours.length);
  const declination = declinationAxis(axis, forward);
  hours.forEach((h, i) => {
    const turn = guideTurn(axis, declination, guide[0]!, onMount(axis, hemisphere, h, guide[i]!));
    const seen = turn && apply(inverse(turn), onMount(axis, hemisphere, h, corner[i]!));
    const depth = seen ? dot(seen, forward) * plan.pixel : NaN;
    x[i] = seen ? dot(seen, right) / depth : NaN;
    y[i] = seen ? dot(seen, down) / depth : NaN;
  });
  return { x, y };
}

/** Rotation of the sky about the guide star through a guided run, radians; right-handed about the line of sight. */
function rotationPath({ plan, hours, forward }: RunView, { guide, around }: GuidedPair, axis: Vector): number[] {
  const hemisphere = elevatedPole(plan.latitude);
  const declination = declinationAxis(axis, forward);
  const home = guide[0]!;
  return hours.map((h, i) => {
    const turn = guideTurn(axis, declination, home, onMount(axis, hemisphere, h, guide[i]!));
    if (!turn) return NaN;
    const back = (v: Vector): Vector => apply(inverse(turn), onMount(axis, hemisphere, h, v));
    return rotationAboutSight(home, around.map((v) => v[0]!), around.map((v) => back(v[i]!)));
  });
}

/** Trail of the field's middle without guiding, in the exposure of the run where it is longest. Radians. */
export function longestUnguided(view: RunView, axis: Vector): number {
  return worstExposure(unguidedPath(view, axis)).length;
}

/**
 * Trail of the corner farthest from the guide star in the exposure of the run where it is longest. Pixels; infinite where guiding can't
 * keep the star.
 */
export function longestGuided(view: RunView, axis: Vector): number {
  return Math.max(...view.pairs.map((pair) => worstExposure(guidedPath(view, pair, axis)).length));
}

/** Drift of the field's middle where only the drive's sidereal rate moves the mount. */
export function unguidedTrail(view: RunView, axis: Vector): UnguidedTrail {
  const { plan, hours } = view;
  const path = unguidedPath(view, axis);
  const { length, at } = worstExposure(path);
  let speed = 0;
  for (let i = 0; i + 2 < hours.length; i += MOMENTS) speed = Math.max(
    speed, Math.abs(path.y[i + 2]! - path.y[i]!) / (plan.exposureSeconds / 60),
  );
  return {
    drift: length, pixels: length / plan.pixel, atHours: hours[at]!,
    declination: path.y[at + 2]! - path.y[at]!, rightAscension: path.x[at + 2]! - path.x[at]!,
    totalPixels: extent(path) / plan.pixel, declinationPerMinute: speed,
  };
}

/** What is left where both motors keep a guide star in its place: the field turns about it. */
export function guidedTrail(view: RunView, axis: Vector): GuidedTrail {
  const { hours } = view;
  let worst = { length: -1, at: 0 };
  let totalPixels = 0, fieldRotation = 0, fieldRotationSpan = 0;
  for (const pair of view.pairs) {
    const path = guidedPath(view, pair, axis);
    const here = worstExposure(path);
    if (here.length > worst.length) worst = here;
    totalPixels = Math.max(totalPixels, extent(path));
    const rotations = rotationPath(view, pair, axis);
    const net = -rotations.at(-1)!;
    if (Math.abs(net) > Math.abs(fieldRotation)) fieldRotation = net;
    fieldRotationSpan = Math.max(fieldRotationSpan, Math.max(...rotations) - Math.min(...rotations));
  }
  return { cornerPixels: worst.length, atHours: hours[worst.at]!, totalPixels, fieldRotation, fieldRotationSpan };
}
