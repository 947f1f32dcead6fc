import { type Aim, aimedPole } from '../axis/aim.js';
import { invertSymmetric, solveSymmetric } from '../numeric/normalEquations.js';
import { type AxisError, axisError } from '../axis/axisError.js';
import { type Covariance, axisSigma } from '../axis/axisResult.js';
import { axisBasis } from '../axis/axisBasis.js';
import { ARCSECOND, DEGREE } from '../geometry/angle.js';
import { compose, rotationAbout } from '../geometry/rotation.js';
import { type Vector, add, dot, scale, subtract, unit } from '../geometry/vector.js';
import { makeLocalSky } from '../sky/localSky.js';
import type { Site } from '../sky/site.js';
import { SIDEREAL_RATE } from '../sky/siderealRate.js';
import { type CameraTurn, type FieldGeometry, type MountBasis, cameraTurns, mountBasis } from './cameraTurns.js';
import type { RegisteredField } from './registerField.js';
import { EXPECTED_FREEDOM, scatterVariance, smallSample } from './series.js';

/**
 * Whether something moved the declination axis during the run. Guided frames show the axis error by their rotation only; where it is
 * unknown, only what holds for both is used.
 */
export type Guiding = 'guided' | 'unguided' | 'unknown';

/** Uncertainties of the values that the frames are compared with: one-sigma errors. */
export interface GeometrySigma {
  /** Of the position angle, radians. */
  readonly orientation: number;
  /** Of the image scale, as a share. */
  readonly scale: number;
  /** Of the target's hour angle and declination, radians. */
  readonly pointing: number;
  /** Of the refraction, as a share. */
  readonly air: number;
}

/** A combination of both knobs' errors with a sigma that does not depend on the other combination. */
export interface KnownCombination {
  /** Unit vector on the sky at the axis: up and east. */
  readonly up: number;
  readonly east: number;
  /** The axis error from the aimed pole along it, radians on the sky, and its one-sigma error. */
  readonly value: number;
  readonly sigma: number;
}

/** The axis that the frames imply. */
export interface ImpliedAxis {
  readonly axis: Vector;
  readonly aim: Aim;
  readonly fromTruePole: AxisError;
  readonly fromRefractedPole: AxisError;
  /** One sigma of the error from the aimed pole. */
  readonly sigma: AxisError;
  /** Along up and east at the axis, radians². */
  readonly covariance: Covariance;
  /** Best known first. */
  readonly combinations: readonly [KnownCombination, KnownCombination];
  /** The camera's turns relative to this axis: the drive's, and what is unexplained. */
  readonly turns: readonly CameraTurn[];
  readonly basis: MountBasis;
  /** The geometry with the orientation that fits the frames best. */
  readonly geometry: FieldGeometry;
  /** One-sigma scatter of the field in declination from frame to frame, radians. */
  readonly declinationScatter: number;
  /** The factor by which the rotations' misfit exceeds their sigmas; at least 1. */
  readonly rotationExcess: number;
}

/** Prior of an axis error, one sigma: what the frames leave open is not infinite. */
const WIDEST = 5 * DEGREE;
/** Usual scatter of a field from frame to frame, from air and mount: common practice. */
const USUAL_SCATTER = 0.5 * ARCSECOND;
const ROUNDS = 8;

/**
 * The mount's axis from the frames of one tracked field: weighted least squares of the camera's turns about the declination axis (unguided
 * frames only) and about the third direction, which no motor can make, so that neither guiding nor periodic error nor a wrong rate of the
 * drive affects it. Unknowns: the axis, the orientation and scale of the picture relative to what is known of them, a constant of the third
 * turn, one of the declination turn in each stretch between steps.
 *
 * To first order declination drift of a star in the camera is rate·ε·sin(h − H) and field rotation rate·ε·cos(H − h)/cos δ for an axis off
 * by ε toward hour angle h. Here the rotations are exact, with refraction's own drift and field distortion.
 *
 * @param stretches of each frame of the field, see `stretchesOf`
 * @returns null with fewer than two frames
 */
export function impliedAxis(
  field: RegisteredField, given: FieldGeometry, site: Site, stretches: readonly number[], guiding: Guiding, known: GeometrySigma, aim: Aim,
): ImpliedAxis | null {
  const found = fitAxis(field, given, stretches, guiding, known);
  if (!found) return null;
  const { hemisphere, skies } = given;
  const sky = skies[field.reference]!;
  // The same with refraction changed by its uncertainty: the change is added to the error.
  const denser = { ...site, pressureHectopascal: site.pressureHectopascal * (1 + known.air) };
  const inDenser = { ...given, skies: skies.map((s) => makeLocalSky(s.time, denser)) };
  const other = fitAxis(field, inDenser, stretches, guiding, known);
  const aimed = aimedPole(sky, hemisphere, aim);
  const basis = axisBasis(found.axis);
  const [up, east] = basis;
  const shift = other ? [dot(subtract(other.axis, found.axis), up), dot(subtract(other.axis, found.axis), east)] : [0, 0];
  const off = subtract(found.axis, aimed);
  const pointing2 = known.pointing ** 2 * dot(off, off);
  const [a, b, c, d] = found.covariance;
  const covariance: Covariance = [
    a + shift[0]! ** 2 + pointing2, b + shift[0]! * shift[1]!, c + shift[0]! * shift[1]!, d + shift[1]! ** 2 + pointing2,
  ];
  return {
    axis: found.axis, aim, covariance,
    fromTruePole: axisError(found.axis, sky.truePole(hemisphere)),
    fromRefractedPole: axisError(found.axis, sky.refractedPole(hemisphere)),
    sigma: axisSigma(found.axis, basis, covariance, aimed, aim, sky),
    combinations: combinationsOf(covariance, dot(off, up), dot(off, east), found.axis[1] >= 0 ? 1 : -1),
    turns: found.turns, basis: found.basis, geometry: found.geometry,
    declinationScatter: found.declinationScatter, rotationExcess: found.rotationExcess,
  };
}

interface AxisFit {
  readonly axis: Vector;
  readonly covariance: Covariance;
  readonly turns: readonly CameraTurn[];
  readonly basis: MountBasis;
  readonly geometry: FieldGeometry;
  readonly declinationScatter: number;
  readonly rotationExcess: number;
}

function fitAxis(
  field: RegisteredField, given: FieldGeometry, stretches: readonly number[], guiding: Guiding, known: GeometrySigma,
): AxisFit | null {
  const { hemisphere } = given;
  const start = given.skies[field.reference]!.refractedPole(hemisphere);
  let axis = start;
  let geometry = given;
  let rolled = 0;
  let scatter2 = USUAL_SCATTER ** 2;
  let excess = 1;
  let result: AxisFit | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    const turns = cameraTurns(field, geometry, axis);
    if (turns.length < 2) return null;
    const basis = mountBasis(axis, geometry.pose);
    const system = setUp(turns, basis, stretches, hemisphere, guiding);
    const size = system.size;
    // Priors: the axis is near the pole, the picture's orientation is as given.
    const prior = new Float64Array(size), target = new Float64Array(size);
    const away = subtract(axis, start);
    prior[0] = prior[1] = 1 / WIDEST ** 2;
    target[0] = dot(away, basis.declination);
    target[1] = -dot(away, basis.third);
    prior[2] = 1 / Math.max(1e-6, known.orientation) ** 2;
    target[2] = -rolled;
    prior[3] = 1 / Math.max(1e-6, known.scale) ** 2;
    let solution: Float64Array | null = null;
    let inverse: Float64Array | null = null;
    for (let weighing = 0; weighing < 12; weighing++) {
      const normal = new Float64Array(size * size), right = new Float64Array(size);
      for (let i = 0; i < size; i++) {
        normal[i * size + i]! += prior[i]!;
        right[i]! += prior[i]! * target[i]!;
      }
      for (const { row, value, sigma, declination } of system.data) {
        const weight = 1 / (declination ? sigma * sigma + scatter2 : sigma * sigma * excess * excess);
        for (let i = 0; i < size; i++) {
          right[i]! += weight * row[i]! * value;
          for (let k = i; k < size; k++) normal[i * size + k]! += weight * row[i]! * row[k]!;
        }
      }
      solution = solveSymmetric(normal, right, size);
      inverse = invertSymmetric(normal, size);
      if (!solution || !inverse) return null;
      const residual = (d: Datum): number => d.value - d.row.reduce((sum, r, i) => sum + r * solution![i]!, 0);
      const dec = system.data.filter((d) => d.declination), third = system.data.filter((d) => !d.declination);
      const before = scatter2;
      if (dec.length > 0) scatter2 = scatterVariance(dec.map(residual), dec.map((d) => d.sigma), system.declinationFreedom, USUAL_SCATTER);
      const chi2 = third.reduce((sum, d) => sum + (residual(d) / d.sigma) ** 2, 0);
      excess = Math.sqrt(Math.max(1, (EXPECTED_FREEDOM + chi2) / (EXPECTED_FREEDOM + Math.max(0, system.thirdFreedom))));
      if (Math.abs(scatter2 - before) < 1e-4 * scatter2 && weighing > 2) break;
    }
    const [aboutThird, aboutDeclination, roll] = [solution![0]!, solution![1]!, solution![2]!];
    const move = add(scale(basis.third, aboutDeclination), scale(basis.declination, -aboutThird));
    result = {
      axis, turns, basis, geometry, rotationExcess: excess, declinationScatter: Math.sqrt(scatter2),
      covariance: alongKnobs(
        inverse!, size, basis, axis, guiding === 'unguided' ? smallSample(system.declinationFreedom) : 1, smallSample(system.thirdFreedom),
      ),
    };
    const settled = Math.hypot(aboutDeclination, aboutThird) < 0.02 * ARCSECOND && Math.abs(roll) < 1e-5;
    if (settled && round > 1) break;
    axis = unit(add(axis, move));
    geometry = { ...geometry, pose: compose(rotationAbout(basis.forward, roll), geometry.pose) };
    rolled += roll;
  }
  return result;
}

/** One measured turn: value = row · unknowns. */
interface Datum {
  readonly row: Float64Array;
  readonly value: number;
  readonly sigma: number;
  readonly declination: boolean;
}

/**
 * Unknowns: [0] and [1] rotation of the axis about third and declination direction, [2] roll of the picture, [3] relative error of its
 * scale, [4] constant of the third turn, [5…] of the declination turn in each stretch.
 */
function setUp(
  turns: readonly CameraTurn[], { elevation }: MountBasis, stretches: readonly number[], hemisphere: 1 | -1, guiding: Guiding,
): { size: number; data: Datum[]; declinationFreedom: number; thirdFreedom: number } {
  const used = [...new Set(turns.map((t) => stretches[t.frame]!))];
  const unguided = guiding === 'unguided';
  const size = 5 + (unguided ? used.length : 0);
  const sin = Math.sin(elevation);
  const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;
  const northMean = mean(turns.map((t) => t.drifted.aboutNorth)), declinationMean = mean(turns.map((t) => t.drifted.aboutDeclination));
  const data: Datum[] = [];
  turns.forEach((turn) => {
    const phi = -hemisphere * SIDEREAL_RATE * turn.seconds;
    // A wrong roll or scale of the picture affects all drift of the field, whatever caused it.
    const n = turn.drifted.aboutNorth - northMean, d = turn.drifted.aboutDeclination - declinationMean;
    const third = new Float64Array(size);
    third[0] = Math.cos(phi) - 1;
    third[1] = Math.sin(phi);
    third[2] = sin * d;
    third[3] = -sin * n;
    third[4] = 1;
    data.push({ row: third, value: turn.aboutThird, sigma: turn.sigma.aboutThird, declination: false });
    if (!unguided) return;
    const declination = new Float64Array(size);
    declination[0] = -Math.sin(phi);
    declination[1] = Math.cos(phi) - 1;
    declination[2] = n;
    declination[3] = d;
    declination[5 + used.indexOf(stretches[turn.frame]!)] = 1;
    data.push({ row: declination, value: turn.aboutDeclination, sigma: turn.sigma.aboutDeclination, declination: true });
  });
  return { size, data, declinationFreedom: turns.length - used.length - 1, thirdFreedom: turns.length - 2 };
}

/** Covariance of the axis along up and east, from that of the unknowns; the factor for few frames enlarges each part. */
function alongKnobs(
  inverse: Float64Array, size: number, basis: MountBasis, axis: Vector, widenDeclination: number, widenThird: number,
): Covariance {
  // The axis moves by unknown 1 along `third` and by minus unknown 0 along `declination`.
  const parts: [Vector, number][] = [[scale(basis.declination, -1), widenDeclination], [basis.third, widenThird]];
  const [up, east] = axisBasis(axis);
  const at = (p: Vector, q: Vector): number => {
    let sum = 0;
    for (let i = 0; i < 2; i++) {
      for (let k = 0; k < 2; k++) {
        const [v, f] = parts[i]!, [w, g] = parts[k]!;
        sum += dot(p, v) * f * inverse[i * size + k]! * g * dot(q, w);
      }
    }
    return sum;
  };
  return [at(up, up), at(up, east), at(east, up), at(east, east)];
}

/** @param eastward -1 where the basis' second direction is west: an axis in the south */
function combinationsOf([a, b, , d]: Covariance, up: number, east: number, eastward: 1 | -1): [KnownCombination, KnownCombination] {
  const angle = Math.atan2(2 * b, a - d) / 2;
  const mean = (a + d) / 2, half = Math.hypot((a - d) / 2, b);
  const along = (turn: number, variance: number): KnownCombination => {
    const c = Math.cos(turn), s = Math.sin(turn);
    // The sign is chosen so that the larger part is positive.
    const sign = Math.abs(c) >= Math.abs(s) ? Math.sign(c) || 1 : Math.sign(s);
    return { up: sign * c, east: sign * s * eastward, value: sign * (c * up + s * east), sigma: Math.sqrt(Math.max(0, variance)) };
  };
  return [along(angle + Math.PI / 2, mean - half), along(angle, mean + half)];
}
