import { type Aim, ofAim } from '../axis/aim.js';
import { type AxisError, axisError, axisWithError } from '../axis/axisError.js';
import { ARCMINUTE } from '../geometry/angle.js';
import { type Vector, angleBetween, dot } from '../geometry/vector.js';
import { NO_REFRACTION } from '../sky/refraction.js';
import { allowedAlong, allowedAnywhere } from './allowedError.js';
import { type BestAim, bestAim } from './bestAim.js';
import { poleDirections } from './misalignedMount.js';
import {
  type GuidedTrail, type RunPlan, type RunView, type UnguidedTrail, guidedTrail, longestGuided, longestUnguided, runView, unguidedTrail,
} from './runTrail.js';

/** Errors of both knobs against the aimed pole, radians, and their one-sigma errors where they were measured. */
export interface KnobErrors {
  readonly altitude: number;
  readonly azimuth: number;
  readonly sigma: { readonly altitude: number; readonly azimuth: number } | null;
}

/** What an axis error does to a run. Trails in pixels, angles in radians. */
export interface RunBudget {
  readonly fromTruePole: AxisError;
  readonly fromRefractedPole: AxisError;
  readonly unguided: UnguidedTrail;
  readonly guided: GuidedTrail;
  /** The trail that is compared with the limit: guided that of the worst corner, unguided that of the field's middle. */
  readonly trail: number;
  /** Its one-sigma error from the measurement's; null where the error was given. */
  readonly sigma: number | null;
  /** The same with the axis on the aimed pole: from refraction alone. */
  readonly trailWithoutError: number;
  readonly withinLimit: boolean;
  /** Largest separation from the aimed pole that keeps the run within the limit, whatever its direction. */
  readonly allowed: number;
  /** The same in the direction of this error; null without one. */
  readonly allowedThisWay: number | null;
  /** Trail that one arcminute of each knob makes, without air. */
  readonly perArcminute: { readonly altitude: number; readonly azimuth: number };
  readonly best: BestAim;
}

/** Coarser than what is reported, since it is tried hundreds of times. */
const COARSE_STEPS = 2;
const COARSE_DIRECTIONS = 4;

/** The budget of a run. */
export function runBudget(plan: RunPlan, error: KnobErrors, aim: Aim, guiding: boolean, limit: number): RunBudget {
  const { truePole, refractedPole } = poleDirections(plan);
  const pole = ofAim(aim, truePole, refractedPole);
  const axisOf = (altitude: number, azimuth: number): Vector => axisWithError(pole, altitude, azimuth);
  const axis = axisOf(error.altitude, error.azimuth);
  const fine = runView(plan);
  const coarse = runView(plan, COARSE_STEPS, COARSE_DIRECTIONS);
  const airless = runView({ ...plan, refraction: NO_REFRACTION }, COARSE_STEPS, COARSE_DIRECTIONS);
  const trailIn = (view: RunView) => (a: Vector): number => (guiding ? longestGuided(view, a) : longestUnguided(view, a) / plan.pixel);
  const unguided = unguidedTrail(fine, axis);
  const guided = guidedTrail(fine, axis);
  const trail = guiding ? guided.cornerPixels : unguided.pixels;
  const worst = allowedAnywhere(trailIn(coarse), limit, pole);
  const separation = angleBetween(axis, pole);
  const airlessPole = poleDirections({ latitude: plan.latitude, refraction: NO_REFRACTION }).truePole;
  const alone = (altitude: number, azimuth: number): number => trailIn(airless)(axisWithError(airlessPole, altitude, azimuth));
  return {
    fromTruePole: axisError(axis, truePole), fromRefractedPole: axisError(axis, refractedPole),
    unguided, guided, trail, sigma: error.sigma && trailSigma(trailIn(coarse), axisOf, error, error.sigma),
    trailWithoutError: trailIn(fine)(pole),
    withinLimit: trail <= limit,
    allowed: allowedAlong(trailIn(fine), limit, pole, worst.direction),
    allowedThisWay: separation > 1e-12 ? allowedAlong(trailIn(fine), limit, pole, directionFrom(pole, axis)) : null,
    perArcminute: { altitude: alone(ARCMINUTE, 0), azimuth: alone(0, ARCMINUTE) },
    best: bestAim(plan, trailIn(coarse)),
  };
}

/** Direction on the sky from a pole to an axis, radians from up toward east. */
function directionFrom(pole: Vector, axis: Vector): number {
  const side = pole[1] >= 0 ? 1 : -1;
  return Math.atan2(axis[0], dot(axis, [0, -side * pole[2], Math.abs(pole[1])]));
}

function trailSigma(
  trail: (axis: Vector) => number, axisOf: (altitude: number, azimuth: number) => Vector,
  { altitude, azimuth }: KnobErrors, sigma: { readonly altitude: number; readonly azimuth: number },
): number {
  const half = (a: number, z: number): number => (trail(axisOf(altitude + a, azimuth + z)) - trail(axisOf(altitude - a, azimuth - z))) / 2;
  return Math.hypot(half(sigma.altitude, 0), half(0, sigma.azimuth));
}
