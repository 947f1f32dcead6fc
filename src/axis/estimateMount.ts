import { unit } from '../geometry/vector.js';
import { apply } from '../geometry/rotation.js';
import type { Identification } from '../identify/identifyFrame.js';
import { MAX_RADIAL_TERMS } from '../identify/projection.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';
import { airResponse } from './airResponse.js';
import { type AxisError, axisError } from './axisError.js';
import { type Aim, type AxisResult, type Covariance, axisSigma, frameOnAxis } from './axisResult.js';
import { type HeldCentre, type JointFit, jointFit } from './jointFit.js';
import { extraScatter, withExtraScatter } from './extraScatter.js';
import { type LensChoice, type MountModel, layOut, turnsOf } from './mountModel.js';
import { type Sightings, collectSightings } from './sightings.js';
import { sharedErrors, withSharedErrors } from './sharedErrors.js';

/** One recognised frame and the sky at the middle of its exposure. */
export interface AxisFrame {
  readonly identification: Identification;
  readonly sky: LocalSky;
  /** Size of the picture, pixels. */
  readonly width: number;
  readonly height: number;
}

/** The least squares over all stars of some frames, and what went into it. */
export interface MountEstimate {
  readonly fit: JointFit;
  readonly choice: LensChoice;
  readonly sightings: Sightings;
  /** Larger side of the frames, pixels. */
  readonly width: number;
}

/** A lens term must lower chi-squared by this much to stay; chance does it once in 2000. */
const WORTH = 12;

/** Fit and extra scatter in turn: at most so often, and until the scatter changes by less than this share. */
const PASSES = 4;
const SETTLED = 0.02;

/**
 * The mount's axes, the camera's places on it and the lens, from the stars of all frames together. Null where the stars don't fix them.
 *
 * @param start near the truth by some pixels, its poses in the order of `frames`
 * @param held what is known of a mounting beforehand
 * @param lensKnown the start's lens is kept as it is
 */
export function estimateMount(
  frames: readonly AxisFrame[], start: MountModel, hemisphere: Hemisphere, held: readonly HeldCentre[] = [], lensKnown = false,
): MountEstimate | null {
  const first = frames[0]!;
  const width = Math.max(first.width, first.height);
  const sightings = collectSightings(frames.map(
    ({ identification, sky }) => ({ stars: identification.stars, pole: sky.refractedPole(hemisphere) }),
  ));
  let best = bestFit(sightings, start, width, held, lensKnown);
  if (!best) return null;
  let swaying = sightings;
  let extra = 0;
  for (let pass = 0; pass < PASSES; pass++) {
    const size = layOut(best.fit, best.choice).size;
    const more = extraScatter(sightings, best.fit, size);
    if (Math.abs(more - extra) <= SETTLED * (more + extra)) break;
    extra = more;
    swaying = withExtraScatter(sightings, extra);
    const fit: JointFit | null = jointFit(swaying, best.fit, best.choice, width, held);
    if (!fit) break;
    best = { ...best, fit };
  }
  const shared = withSharedErrors(swaying, sharedErrors(swaying, best.fit), best.fit.lens.focalPixels);
  const fit = jointFit(shared, best.fit, best.choice, width, held);
  return { fit: fit ?? best.fit, choice: best.choice, sightings: shared, width };
}

/** The joint fit with as many lens terms as the data pay for. */
export function bestFit(
  sightings: Sightings, start: MountModel, width: number, held: readonly HeldCentre[] = [], lensKnown = false,
): { readonly fit: JointFit; readonly choice: LensChoice } | null {
  if (lensKnown) {
    const choice: LensChoice = { radialTerms: 0, centre: false, lensKnown };
    const fit = jointFit(sightings, start, choice, width, held);
    return fit && { fit, choice };
  }
  let best: { fit: JointFit; choice: LensChoice } | null = null;
  const consider = (radialTerms: number): void => {
    const choice: LensChoice = { radialTerms, centre: true, tangential: true };
    const fit = jointFit(sightings, best?.fit ?? start, choice, width, held);
    if (fit && (!best || fit.chiSquared < best.fit.chiSquared - WORTH)) best = { fit, choice };
  };
  const enough = (): number => best?.choice.radialTerms ?? 0;
  // From what single frames have shown; the next term is asked for only if the last one paid.
  for (let terms = Math.min(start.lens.radial.length, MAX_RADIAL_TERMS); terms <= MAX_RADIAL_TERMS; terms++) {
    consider(terms);
    if (enough() < terms) break;
  }
  return best;
}

/**
 * Where the axis points in the stance of one of the frames.
 *
 * @param varianceFactor of the covariance; the fit's own unless something else is known to be wrong
 * @param more what else leaves the axis unsure, along up and right, radians²
 */
export function axisInStance(
  { fit, choice, sightings, width }: MountEstimate, frames: readonly AxisFrame[], frame: number, aim: Aim, hemisphere: Hemisphere,
  varianceFactor = fit.excess, more: Covariance = [0, 0, 0, 0],
): AxisResult {
  const { sky } = frames[frame]!;
  const stance = fit.stance[frame]!;
  const axis = fit.axes[stance]!;
  const [truePole, refractedPole] = [sky.truePole(hemisphere), sky.refractedPole(hemisphere)];
  const aimed = aim === 'true' ? truePole : refractedPole;
  const air = sky.site && airResponse(sightings, fit, choice, width, sky.refraction, stance);
  const covariance = fit.axisCovariances[stance]!.map((c, k) => c * varianceFactor + more[k]!) as unknown as Covariance;
  const turns = turnsOf(fit);
  const sigmaIf = (airKnown: boolean): AxisError => axisSigma(axis, fit.bases.axes[stance]!, covariance, aimed, aim, sky, air, airKnown);
  return {
    hemisphere, axis, aim, lens: fit.lens,
    fromTruePole: axisError(axis, truePole),
    fromRefractedPole: axisError(axis, refractedPole),
    sigma: sigmaIf(sky.site?.airKnown ?? false),
    ...(sky.site && !sky.site.airKnown ? { sigmaWithAir: sigmaIf(true) } : {}),
    frames: frames.map((f, i) => frameOnAxis(
      unit(apply(fit.poses[i]!, fit.centres[fit.mounting[i]!]!)), fit.poses[i]!, turns[i]!, fit.lens, f.sky, aim, hemisphere, fit.rms[i]!,
    )),
  };
}
