import { unit } from '../geometry/vector.js';
import { apply } from '../geometry/rotation.js';
import type { Identification } from '../identify/identifyFrame.js';
import { MAX_RADIAL_TERMS } from '../identify/projection.js';
import { median } from '../numeric/median.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';
import { airResponse } from './airResponse.js';
import { type AxisError, axisError } from './axisError.js';
import { type Aim, type AxisResult, type Covariance, axisSigma, frameOnAxis } from './axisResult.js';
import { type HeldCentre, type JointFit, promisedGain, jointFit } from './jointFit.js';
import { type ExtraScatter, type PictureSize, extraScatter, withExtraScatter } from './extraScatter.js';
import { expectedMotion } from './imageMotion.js';
import { type LensChoice, type MountModel, alignedModel, freed, layOut, turnsOf } from './mountModel.js';
import { type Sightings, collectSightings } from './sightings.js';
import { NOTHING_SHARED, sharedErrors, withSharedErrors } from './sharedErrors.js';

/** One recognised frame and the sky at the middle of its exposure. */
export interface AxisFrame {
  readonly identification: Identification;
  readonly sky: LocalSky;
  /** Size of the picture, pixels. */
  readonly width: number;
  readonly height: number;
  /** Absent where the file does not say. */
  readonly exposureSeconds?: number;
}

/** The least squares over all stars of some frames, and its input. */
export interface MountEstimate {
  readonly fit: JointFit;
  readonly choice: LensChoice;
  readonly sightings: Sightings;
  /** Larger side of the frames, pixels. */
  readonly width: number;
}

/** A lens term must lower chi-squared by this much to be kept; by chance that happens once in 2000. */
const WORTH = 12;

interface Fitted {
  readonly fit: JointFit;
  readonly choice: LensChoice;
}

/**
 * Lens and star errors from the frames with each camera independent of the others: a clutch that slipped between two frames must not count
 * as scatter of stars.
 */
function starErrors(
  sightings: Sightings, start: MountModel, picture: PictureSize, exposureSeconds: number | null, lensKnown: boolean,
): StarErrors | null {
  const width = Math.max(picture.width, picture.height);
  const best = bestFit(sightings, freed(start), width, [], lensKnown, true);
  if (!best) return null;
  const { choice } = best;
  const size = layOut(best.fit, choice).size - 2 * start.axes.length;
  let { fit } = best;
  const expected = expectedMotion(picture, exposureSeconds, fit.lens.focalPixels);
  let extra: ExtraScatter = { middle: 0, corner: 0, frames: [] };
  for (let pass = 0; pass < PASSES; pass++) {
    const more = extraScatter(sightings, fit, size, picture, expected);
    if (isSettled(extra, more)) break;
    const refitted = jointFit(withExtraScatter(sightings, more, picture), fit, choice, width);
    if (!refitted) break;
    [extra, fit] = [more, refitted];
  }
  return { fit, choice, extra };
}

/** Whether two are alike in the middle, in the corner, and in each frame. */
function isSettled(a: ExtraScatter, b: ExtraScatter): boolean {
  const alike = (p: number, q: number): boolean => Math.abs(p - q) <= SETTLED * (p + q);
  return alike(a.middle, b.middle) && alike(a.corner, b.corner)
    && (b.middle + b.corner === 0 || b.frames.every((f, i) => alike(f, a.frames[i] ?? 1)));
}

interface StarErrors extends Fitted {
  readonly extra: ExtraScatter;
}

/** Fit and extra scatter are repeated in turn: at most this often, and until the scatter changes by less than this share. */
const PASSES = 3;
const SETTLED = 0.1;
/** Lens and star errors are told well enough by this many frames; with cameras of their own more would cost the square of their number. */
const TELLING_FRAMES = 24;

/** At most so many frames, spread evenly over the turns about the axis, in their order. */
function tellingFrames(start: MountModel): number[] {
  const all = start.poses.map((_, i) => i);
  if (all.length <= TELLING_FRAMES) return all;
  const turns = turnsOf(start);
  const byTurn = [...all].sort((a, b) => turns[a]! - turns[b]! || a - b);
  return Array.from({ length: TELLING_FRAMES }, (_, k) => byTurn[Math.round((k * (all.length - 1)) / (TELLING_FRAMES - 1))]!)
    .sort((a, b) => a - b);
}

/** The middle one of the frames' exposures; null where none is known. */
function typicalExposure(frames: readonly AxisFrame[]): number | null {
  const known = frames.flatMap(({ exposureSeconds }) => (exposureSeconds !== undefined && exposureSeconds > 0 ? [exposureSeconds] : []));
  return known.length === 0 ? null : median(known);
}

/** The model of some of its frames. */
function modelOf({ stance, mounting, poses, ...shared }: MountModel, frames: readonly number[]): MountModel {
  const of = <T>(values: readonly T[]): T[] => frames.map((i) => values[i]!);
  return { ...shared, stance: of(stance), mounting: of(mounting), poses: of(poses) };
}

/**
 * The mount's axes, the camera's places on it and the lens, from the stars of all frames together. Null where the stars don't determine
 * them.
 *
 * @param start near the truth by some pixels, its poses in the order of `frames`
 * @param held what is known of a mounting beforehand
 * @param lensKnown the start's lens is kept as it is
 */
export function estimateMount(
  frames: readonly AxisFrame[], start: MountModel, hemisphere: Hemisphere, held: readonly HeldCentre[] = [], lensKnown = false,
): MountEstimate | null {
  const picture: PictureSize = frames[0]!;
  const width = Math.max(picture.width, picture.height);
  const sighted = (of: readonly AxisFrame[]): Sightings => collectSightings(of.map(
    ({ identification, sky }) => ({ stars: identification.stars, pole: sky.refractedPole(hemisphere) }),
  ));
  const all = sighted(frames);
  const telling = tellingFrames(start);
  const part = telling.length < frames.length ? sighted(telling.map((i) => frames[i]!)) : all;
  const found = starErrors(part, modelOf(start, telling), picture, typicalExposure(frames), lensKnown);
  if (!found) return null;
  const { fit: free, extra } = found;
  const factors = frames.map(() => 1);
  telling.forEach((i, k) => { factors[i] = extra.frames[k] ?? 1; });
  const swaying = withExtraScatter(all, { ...extra, frames: factors }, picture);
  const { stance, mounting, axes, centres } = start;
  const poses = [...start.poses];
  telling.forEach((i, k) => { poses[i] = free.poses[k]!; });
  const fitted: MountModel & { readonly starOffsets?: Float64Array } = {
    ...alignedModel(poses, { stance, mounting }, axes, centres, free.lens), ...(part === all ? { starOffsets: free.starOffsets } : {}),
  };
  let best: Fitted | null = null;
  for (const choice of [found.choice, { ...found.choice, centre: false, tangential: false }]) {
    const asked = { ...choice, axesHeld: false };
    const fit = jointFit(swaying, fitted, asked, width, held);
    if (fit) best = { fit, choice: asked };
    // Frames that do not fit one rotation could distort a lens that is free.
    if (best) break;
  }
  if (!best) return null;
  const shares = sharedErrors(swaying, best.fit);
  if (shares.every((s) => s === NOTHING_SHARED)) return { ...best, sightings: swaying, width };
  const shared = withSharedErrors(swaying, shares, best.fit.lens.focalPixels);
  const fit = jointFit(shared, best.fit, best.choice, width, held);
  return { fit: fit ?? best.fit, choice: best.choice, sightings: shared, width };
}

/** The joint fit with as many lens terms as the data justify. */
export function bestFit(
  sightings: Sightings, start: MountModel, width: number, held: readonly HeldCentre[] = [], lensKnown = false, axesHeld = false,
): Fitted | null {
  const fitted = (choice: LensChoice, from: MountModel): Fitted | null => {
    const fit = jointFit(sightings, from, choice, width, held);
    return fit && { fit, choice };
  };
  if (lensKnown) return fitted({ radialTerms: 0, centre: false, lensKnown, axesHeld }, start);
  // Principal point and tangential terms are always fitted, with priors from what lenses are like.
  const choiceOf = (radialTerms: number): LensChoice => ({ radialTerms, centre: true, tangential: true, axesHeld });
  // Start from what single frames have shown; the next term is tried only if the last one helped, and it promises to.
  let terms = Math.min(start.lens.radial.length, MAX_RADIAL_TERMS);
  let best = fitted(choiceOf(terms), start) ?? fitted({ radialTerms: terms, centre: false, axesHeld }, start);
  while (best && terms < MAX_RADIAL_TERMS) {
    terms++;
    if (promisedGain(sightings, best.fit, choiceOf(terms), width, held) < WORTH) break;
    const next = fitted(choiceOf(terms), best.fit);
    if (!next || next.fit.chiSquared > best.fit.chiSquared - WORTH) break;
    best = next;
  }
  return best;
}

/**
 * Where the axis points in the stance of one of the frames.
 *
 * @param varianceFactor of the covariance; the fit's own unless something else is known to be wrong
 * @param more further variance of the axis, along up and right, radians²
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
