import { type Basis, anyBasis, axisBasis } from '../axis/axisBasis.js';
import { axisFromPoses } from '../axis/axisFromPoses.js';
import { DEGREE } from '../geometry/angle.js';
import { apply, inverse } from '../geometry/rotation.js';
import { type Vector, add, cross, dot, scale, subtract, unit } from '../geometry/vector.js';
import { invertSymmetric, solveSymmetric } from '../numeric/normalEquations.js';
import type { Matrix2 } from './gaussian.js';
import { type PoseLook, pointingCovariance } from './poseLook.js';

/**
 * Where the axis points (local frame) and where it lies in the camera, with their common covariance (4 by 4, radians²): first along
 * `axisAlong`, then along `centreAlong`.
 */
export interface MountState {
  readonly axis: Vector;
  readonly axisAlong: Basis;
  readonly centre: Vector;
  readonly centreAlong: Basis;
  readonly covariance: Float64Array;
}

/** What is known of the axis before any look: near a direction (local), within `sigma` (radians). */
export interface RoughAxis {
  readonly near: Vector;
  readonly sigma: number;
}

/** A mount as people set it down, roughly toward the pole. */
export const SET_DOWN = 5 * DEGREE;
/** Pairs turned by less than this are not used for a start. */
const LEAST_TURN = 0.02 * DEGREE;
const MOST_ITERATIONS = 20;
const SETTLED = 1e-9;

/** How far a look puts the camera's centre direction from the axis, along `axisAlong`, and how that depends on the state. */
interface Gap {
  readonly at: readonly [number, number];
  /** ∂gap/∂centre, 2 by 2; ∂gap/∂axis is minus the unit matrix. */
  readonly byCentre: readonly [number, number, number, number];
  readonly noise: Matrix2;
}

function gapOf(state: MountState, look: PoseLook): Gap {
  const seen = apply(look.pose, state.centre);
  const off = subtract(seen, state.axis);
  const turned = state.centreAlong.map((f) => apply(look.pose, f));
  const [a, b] = state.axisAlong;
  return {
    at: [dot(off, a), dot(off, b)],
    byCentre: [dot(a, turned[0]!), dot(a, turned[1]!), dot(b, turned[0]!), dot(b, turned[1]!)],
    noise: pointingCovariance(look, state.centre, state.axisAlong),
  };
}

/** The gap that a look shows, and its covariance from the look and the state together. */
export function innovation(state: MountState, look: PoseLook): { readonly gap: readonly [number, number]; readonly covariance: Matrix2 } {
  const { at, byCentre, noise } = gapOf(state, look);
  const m = throughGap(state.covariance, byCentre);
  return { gap: at, covariance: [m[0] + noise[0], m[1] + noise[1], m[2] + noise[2], m[3] + noise[3]] };
}

/** J·Σ·Jᵀ for J = [-1, byCentre]. */
function throughGap(s: Float64Array, byCentre: readonly number[]): [number, number, number, number] {
  const j = [[-1, 0, byCentre[0]!, byCentre[1]!], [0, -1, byCentre[2]!, byCentre[3]!]];
  const at = (r: number, k: number): number => {
    let sum = 0;
    for (let i = 0; i < 4; i++) for (let l = 0; l < 4; l++) sum += j[r]![i]! * s[4 * i + l]! * j[k]![l]!;
    return sum;
  };
  const across = at(0, 1);
  return [at(0, 0), across, across, at(1, 1)];
}

/** The state after a look in which neither axis nor camera had moved (the update of a Kalman filter: Kalman 1960, J. Basic Eng. 82, 35). */
export function afterSame(state: MountState, look: PoseLook): MountState {
  const { at, byCentre, noise } = gapOf(state, look);
  const s = state.covariance;
  const m = throughGap(s, byCentre);
  const [p, q, , r] = [m[0] + noise[0], m[1] + noise[1], 0, m[3] + noise[3]];
  const determinant = p * r - q * q;
  const inverseOf = [r / determinant, -q / determinant, -q / determinant, p / determinant];
  // Σ·Jᵀ, 4 by 2.
  const cross2 = Array.from({ length: 4 }, (_, i) => [
    -s[4 * i]! + s[4 * i + 2]! * byCentre[0]! + s[4 * i + 3]! * byCentre[1]!,
    -s[4 * i + 1]! + s[4 * i + 2]! * byCentre[2]! + s[4 * i + 3]! * byCentre[3]!,
  ] as const);
  const gain = cross2.map(([u, v]) => [u * inverseOf[0]! + v * inverseOf[2]!, u * inverseOf[1]! + v * inverseOf[3]!] as const);
  const step = gain.map(([u, v]) => -(u * at[0] + v * at[1]));
  const covariance = new Float64Array(16);
  for (let i = 0; i < 4; i++) {
    for (let k = 0; k < 4; k++) covariance[4 * i + k] = s[4 * i + k]! - gain[i]![0] * cross2[k]![0] - gain[i]![1] * cross2[k]![1];
  }
  return moved(state, step, covariance);
}

function moved(state: MountState, step: readonly number[], covariance: Float64Array): MountState {
  const axis = stepped(state.axis, state.axisAlong, step[0]!, step[1]!);
  const centre = stepped(state.centre, state.centreAlong, step[2]!, step[3]!);
  return { axis, centre, axisAlong: carried(state.axisAlong, axis), centreAlong: carried(state.centreAlong, centre), covariance };
}

function stepped(v: Vector, [a, b]: Basis, x: number, y: number): Vector {
  return unit(add(v, add(scale(a, x), scale(b, y))));
}

/** The basis at a direction near the one it was made for. */
function carried([a]: Basis, v: Vector): Basis {
  const first = unit(subtract(a, scale(v, dot(a, v))));
  return [first, cross(v, first)];
}

/** The state after a look before which the axis was moved, the camera on the mount was not. */
export function afterKnob(state: MountState, look: PoseLook): MountState {
  const axis = unit(apply(look.pose, state.centre));
  const axisAlong = axisBasis(axis);
  const turned = state.centreAlong.map((f) => apply(look.pose, f));
  const t = [dot(axisAlong[0], turned[0]!), dot(axisAlong[0], turned[1]!), dot(axisAlong[1], turned[0]!), dot(axisAlong[1], turned[1]!)];
  const noise = pointingCovariance(look, state.centre, axisAlong);
  return { ...state, axis, axisAlong, covariance: bornFrom(block(state.covariance, 2), t, noise, 'axis') };
}

/** The state after a look before which the declination or the camera was moved, the axis was not. */
export function afterDeclination(state: MountState, look: PoseLook): MountState {
  const toCamera = inverse(look.pose);
  const centre = unit(apply(toCamera, state.axis));
  const centreAlong = anyBasis(centre);
  const turned = state.axisAlong.map((f) => apply(toCamera, f));
  const t = [
    dot(centreAlong[0], turned[0]!), dot(centreAlong[0], turned[1]!), dot(centreAlong[1], turned[0]!), dot(centreAlong[1], turned[1]!),
  ];
  const noise = pointingCovariance(look, centre, state.axisAlong);
  const inCamera = sandwich(t, noise);
  return { ...state, centre, centreAlong, covariance: bornFrom(block(state.covariance, 0), t, inCamera, 'centre') };
}

function block(s: Float64Array, at: number): Matrix2 {
  return [s[4 * at + at]!, s[4 * at + at + 1]!, s[4 * at + 4 + at]!, s[4 * at + 4 + at + 1]!];
}

/** t·m·tᵀ */
function sandwich(t: readonly number[], m: Matrix2): Matrix2 {
  const row = (r: number): [number, number] => [t[2 * r]! * m[0] + t[2 * r + 1]! * m[2], t[2 * r]! * m[1] + t[2 * r + 1]! * m[3]];
  const at = (r: number, k: number): number => row(r)[0] * t[2 * k]! + row(r)[1] * t[2 * k + 1]!;
  return [at(0, 0), at(0, 1), at(1, 0), at(1, 1)];
}

/** The common covariance where one direction is determined anew from the other (covariance `old`, turned by `t`) and a look. */
function bornFrom(old: Matrix2, t: readonly number[], noise: Matrix2, born: 'axis' | 'centre'): Float64Array {
  const fresh = sandwich(t, old);
  const out = new Float64Array(16);
  const [mine, its] = born === 'axis' ? [0, 2] : [2, 0];
  for (let i = 0; i < 2; i++) {
    for (let k = 0; k < 2; k++) {
      out[4 * (mine + i) + mine + k] = fresh[2 * i + k]! + noise[2 * i + k]!;
      out[4 * (its + i) + its + k] = old[2 * i + k]!;
      const across = t[2 * i]! * old[k]! + t[2 * i + 1]! * old[2 + k]!;
      out[4 * (mine + i) + its + k] = across;
      out[4 * (its + k) + mine + i] = across;
    }
  }
  return out;
}

/** The state that looks of one stance and mounting give by themselves, and its likelihood. */
export interface BatchState {
  readonly state: MountState;
  /** Natural logarithm of the density of the looks' two coordinates each, radians⁻² a look, under a rough idea of where the axis is. */
  readonly logEvidence: number;
}

/**
 * Least squares over the looks of one stance and mounting. Before them the camera may look anywhere.
 *
 * @param looks one or more
 */
export function batchState(looks: readonly PoseLook[], rough: RoughAxis): BatchState {
  const starts = [rough.near];
  const turns = axisFromPoses(looks.map((l) => l.pose), rough.near);
  if (turns.largest > LEAST_TURN) starts.unshift(turns.axis);
  let best: { state: MountState; cost: number; logDeterminant: number } | null = null;
  for (const start of starts) {
    const found = descend(looks, rough, start);
    if (found && (!best || found.cost < best.cost)) best = found;
  }
  if (!best) return { state: startAt(looks, rough.near), logEvidence: -Infinity };
  let logNoise = 0;
  for (const look of looks) {
    const n = pointingCovariance(look, best.state.centre, best.state.axisAlong);
    logNoise += Math.log(n[0] * n[3] - n[1] * n[2]);
  }
  // Prior of the axis: normal; of the centre: uniform over the sphere. Laplace's approximation of the integral over both.
  const logEvidence = -0.5 * best.cost - 0.5 * best.logDeterminant - 2 * Math.log(rough.sigma)
    + Math.log(2 * Math.PI) - Math.log(4 * Math.PI)
    - 0.5 * logNoise - looks.length * Math.log(2 * Math.PI);
  return { state: best.state, logEvidence };
}

function startAt(looks: readonly PoseLook[], axis: Vector): MountState {
  const centre = unit(apply(inverse(looks[0]!.pose), axis));
  return { axis, axisAlong: axisBasis(axis), centre, centreAlong: anyBasis(centre), covariance: new Float64Array(16) };
}

function descend(
  looks: readonly PoseLook[], rough: RoughAxis, start: Vector,
): { state: MountState; cost: number; logDeterminant: number } | null {
  let state = startAt(looks, start);
  const normal = new Float64Array(16);
  const right = new Float64Array(4);
  let cost = Infinity;
  for (let iteration = 0; iteration < MOST_ITERATIONS; iteration++) {
    normal.fill(0);
    right.fill(0);
    cost = 0;
    const offRough = subtract(state.axis, rough.near);
    state.axisAlong.forEach((b, i) => {
      const off = dot(offRough, b) / rough.sigma;
      cost += off * off;
      normal[5 * i]! += 1 / rough.sigma ** 2;
      right[i]! -= off / rough.sigma;
    });
    for (const look of looks) {
      const { at, byCentre, noise } = gapOf(state, look);
      const determinant = noise[0] * noise[3] - noise[1] * noise[2];
      const w = [noise[3] / determinant, -noise[1] / determinant, noise[0] / determinant] as const;
      const j = [[-1, 0, byCentre[0], byCentre[1]], [0, -1, byCentre[2], byCentre[3]]] as const;
      cost += w[0] * at[0] ** 2 + 2 * w[1] * at[0] * at[1] + w[2] * at[1] ** 2;
      for (let r = 0; r < 4; r++) {
        const u = w[0] * j[0][r]! + w[1] * j[1][r]!, v = w[1] * j[0][r]! + w[2] * j[1][r]!;
        right[r]! -= u * at[0] + v * at[1];
        for (let k = r; k < 4; k++) normal[4 * r + k]! += u * j[0][k]! + v * j[1][k]!;
      }
    }
    const step = solveSymmetric(normal, right, 4);
    if (!step) return null;
    const size = Math.hypot(...step);
    // Far from the solution a whole step may overshoot, since directions lie on a sphere.
    const part = size > 0.3 ? 0.3 / size : 1;
    state = moved(state, [...step].map((s) => s * part), state.covariance);
    if (size < SETTLED) break;
  }
  const covariance = invertSymmetric(normal, 4);
  if (!covariance || !Number.isFinite(cost)) return null;
  const logDeterminant = -logDeterminantOf(covariance);
  return { state: { ...state, covariance }, cost, logDeterminant };
}

function logDeterminantOf(m: Float64Array): number {
  const a = m.slice();
  let sum = 0;
  for (let r = 0; r < 4; r++) {
    const pivot = a[5 * r]!;
    sum += Math.log(pivot);
    for (let i = r + 1; i < 4; i++) {
      const f = a[4 * i + r]! / pivot;
      for (let k = r; k < 4; k++) a[4 * i + k]! -= f * a[4 * r + k]!;
    }
  }
  return sum;
}

/** Covariance of the axis along `axisAlong`. */
export function axisCovariance(state: MountState): Matrix2 {
  return block(state.covariance, 0);
}

/** The largest one-sigma error of the axis, radians. */
export function worstAxisSigma(state: MountState): number {
  const [a, b, , d] = axisCovariance(state);
  return Math.sqrt((a + d) / 2 + Math.hypot((a - d) / 2, b));
}

/** The largest one-sigma error of the axis' place in the camera, radians. */
export function worstCentreSigma(state: MountState): number {
  const [a, b, , d] = block(state.covariance, 2);
  return Math.sqrt((a + d) / 2 + Math.hypot((a - d) / 2, b));
}
