import { type AxisFrame, type MountEstimate, axisInStance, estimateMount } from '../axis/estimateMount.js';
import type { Aim } from '../axis/aim.js';
import type { AxisResult, Covariance } from '../axis/axisResult.js';
import type { JointFit } from '../axis/jointFit.js';
import { alignedModel } from '../axis/mountModel.js';
import { DEGREE } from '../geometry/angle.js';
import { apply, axisAndAngle, compose, inverse } from '../geometry/rotation.js';
import { type Vector, angleBetween } from '../geometry/vector.js';
import { extraScatterOfFrame } from '../axis/extraScatter.js';
import { expectedMotion } from '../axis/imageMotion.js';
import { CAUCHY } from '../identify/cauchyLoss.js';
import { type FitChoice, type Matches, fitPose } from '../identify/fitPose.js';
import type { Lens } from '../identify/lens.js';
import { poseCovariance } from '../identify/poseCovariance.js';
import { median } from '../numeric/median.js';
import { type Hemisphere, makeLocalSky } from '../sky/localSky.js';
import type { Site } from '../sky/site.js';
import { type Look, isSameLook, starsOfLook } from './look.js';
import type { PoseLook } from './poseLook.js';
import { type Anchor, covarianceNow } from './anchor.js';
import { type PoseAnswer, type PoseCorrection, answerOf, correct } from './understanding.js';
import { type Account, type Setting, accountsFrom, groupingOf, weighLook } from './weigh.js';

/** Where the mount stands, which pole it looks to, and what was known before the night's first look. */
export interface NightSetting {
  /** Null where it is unknown: then nothing is known of up and down. */
  readonly site: Site | null;
  readonly hemisphere: Hemisphere;
  readonly anchor: Anchor | null;
  /** Times of looks after which part of the record could not be read: anything may have happened there. Absent: none. */
  readonly lostAfter?: readonly string[];
}

/** A night: its looks in the order of time, and what follows from them. A value: a change makes a new one. */
export interface Night {
  readonly setting: NightSetting;
  readonly looks: readonly Look[];
  /** The answer at each look, from it and those before it. */
  readonly answers: readonly PoseAnswer[];
  /** @internal What follows from each look under the lens in force. */
  readonly frames: readonly LookFrame[];
  /** @internal All accounts of the looks, the likeliest first. */
  readonly accounts: readonly Account[];
}

/** A look's stars and pose at its time, through the night's lens. */
export interface LookFrame extends AxisFrame {
  readonly pose: PoseLook;
}

/** Whether a look that is added is new: `known` if the night has it, `late` if the night has a later one. */
export type News = 'new' | 'known' | 'late';

export function emptyNight(setting: NightSetting): Night {
  return { setting, looks: [], answers: [], frames: [], accounts: [] };
}

/** The night with one more look. A look that is in it already changes nothing; one older than the last is put in order of time. */
export function withLook(night: Night, look: Look): { readonly night: Night; readonly news: News } {
  if (night.looks.some((l) => isSameLook(l, look))) return { night, news: 'known' };
  const at = Date.parse(look.utc);
  const place = night.looks.findIndex((l) => Date.parse(l.utc) > at);
  if (place < 0) return { night: grown(night, look), news: 'new' };
  const looks = [...night.looks.slice(0, place), look, ...night.looks.slice(place)];
  return { night: nightOf(night.setting, looks), news: 'late' };
}

/** The night without the looks of a time: their file has changed since. */
export function withoutLook(night: Night, utc: string): Night {
  return night.looks.some((l) => l.utc === utc) ? nightOf(night.setting, night.looks.filter((l) => l.utc !== utc)) : night;
}

/** The night of some looks, given in any order. */
export function nightOf(setting: NightSetting, looks: readonly Look[]): Night {
  return [...looks].sort((a, b) => Date.parse(a.utc) - Date.parse(b.utc)).reduce(
    (night, look) => withLook(night, look).night, emptyNight(setting),
  );
}

function grown(night: Night, look: Look): Night {
  const { setting } = night;
  const looks = [...night.looks, look];
  const lens = referenceLens(looks, setting);
  const same = night.looks.length > 0 && lens === referenceLens(night.looks, setting);
  const frameOf = (l: Look, i: number): LookFrame =>
    lookFrame(l, lens, setting, i > 0 && (setting.lostAfter?.includes(looks[i - 1]!.utc) ?? false));
  const frames = same ? [...night.frames, frameOf(look, looks.length - 1)] : looks.map(frameOf);
  const poses = frames.map((f) => f.pose);
  const weighed = (accounts: readonly Account[], from: number): readonly Account[] => {
    let all = accounts;
    for (let i = from; i < poses.length; i++) {
      all = i === 0
        ? accountsFrom(poses[0]!, weighing(frames[0]!, setting), setting.anchor)
        : weighLook(all, poses.slice(0, i + 1), weighing(frames[i]!, setting));
    }
    return all;
  };
  const accounts = same ? weighed(night.accounts, poses.length - 1) : weighed([], 0);
  return { setting, looks, frames, accounts, answers: [...night.answers, answerOf(accounts)] };
}

/** Looks turned by this much determine by themselves where the axis lies in the camera, radians. */
const TELLING = 3 * DEGREE;

/** What was known before the first look, as long as the looks don't determine it by themselves. */
function anchorInForce(looks: readonly Look[], { anchor }: NightSetting): Anchor | null {
  if (!anchor || anchor.from === 'tonight') return anchor;
  const [first] = looks;
  return looks.some((l) => axisAndAngle(compose(l.pose, inverse(first!.pose))).angle > TELLING) ? null : anchor;
}

/** The lens of the look that knows it best: all poses use the same one, so that its errors are common to them. */
function referenceLens(looks: readonly Look[], setting: NightSetting): Lens {
  const anchor = anchorInForce(looks, setting);
  if (anchor) return anchor.lens;
  return looks.reduce((a, b) => (b.stars.number.length > a.stars.number.length ? b : a)).lens;
}

function weighing({ sky }: AxisFrame, { hemisphere, site }: NightSetting): Setting {
  return { hemisphere, pole: sky.refractedPole(hemisphere), levelKnown: site !== null };
}

/** With fewer stars the pose is that of the recognition, with this uncertainty (radians). */
const LOOSE = 1e-3;

function lookFrame(look: Look, lens: Lens, { site }: NightSetting, afterGap: boolean): LookFrame {
  const sky = makeLocalSky(new Date(look.utc), site);
  const stars = starsOfLook(look, sky);
  const matches: Matches = {
    count: stars.length,
    directions: Float64Array.from(stars.flatMap((s) => s.direction)),
    x: Float64Array.from(look.stars.x),
    y: Float64Array.from(look.stars.y),
    sigma: Float64Array.from(stars, (s) => Math.hypot(s.detection.sigma, s.catalogueSigma * lens.focalPixels)),
  };
  const choice: FitChoice = { focal: false, radialTerms: 0, robust: CAUCHY.scale, iterations: 10 };
  const asSaid = fitPose(matches, look.pose, lens, choice);
  const { width, height, exposureSeconds } = look;
  const expected = expectedMotion(look, exposureSeconds ?? null, lens.focalPixels);
  const extra = asSaid ? extraScatterOfFrame(asSaid.residuals, matches.sigma, expected) : 0;
  const swaying = extra > 0 ? { ...matches, sigma: matches.sigma.map((s) => Math.sqrt(s * s + extra)) } : matches;
  const fit = (extra > 0 && asSaid ? fitPose(swaying, asSaid.pose, lens, choice) : null) ?? asSaid;
  const spread = fit && poseCovariance(swaying, fit.pose, lens);
  const factor = fit ? varianceFactor(fit.residuals, swaying.sigma) : 1;
  const pose: PoseLook = {
    time: sky.time.getTime(),
    pose: fit?.pose ?? look.pose,
    spread: spread ? spread.map((v) => v * factor) : Float64Array.from([LOOSE, 0, 0, 0, LOOSE, 0, 0, 0, LOOSE], (v) => v * v),
    ...(look.said ? { said: look.said } : {}),
    ...(afterGap ? { afterGap } : {}),
  };
  const identification = { pose: look.pose, lens: look.lens, stars, residualPixels: fit?.rms ?? NaN, logOdds: NaN };
  return { identification, sky, width, height, pose, ...(exposureSeconds === undefined ? {} : { exposureSeconds }) };
}

/** Median of χ² with two degrees of freedom. */
const MEDIAN_CHI_SQUARED = 2 * Math.LN2;

/** The factor by which the stars' errors are larger than stated, as most of them show; at least one. */
function varianceFactor(residuals: Float64Array, sigma: Float64Array): number {
  if (residuals.length < 8) return 1;
  return Math.max(1, median(residuals.map((r, i) => (r / sigma[i]!) ** 2)) / MEDIAN_CHI_SQUARED);
}

/** Where the axis points, from the stars of all looks together; null where they don't determine it yet. */
export interface NightAnswer {
  /** In the stance of the look. `frames` are those of `looks`. */
  readonly axis: AxisResult;
  /** Indexes of the looks that the estimate uses: all since the camera's place on the mount was last unknown. */
  readonly looks: readonly number[];
  /** Those of them in the look's own stance. */
  readonly stance: readonly number[];
  /** How the camera sits on the mount at the look: what a later night may remember. */
  readonly camera: Anchor;
}

/**
 * The answer at a look, the last unless said, by all looks that the night holds.
 *
 * @param aim the pole that errors and sigmas are counted from
 */
export function answerAt(night: Night, aim: Aim, look = night.looks.length - 1): NightAnswer | null {
  // The answer at the last look must not be more certain than the weighing is.
  if (look === night.looks.length - 1 && night.answers.at(-1)?.axis === null) return null;
  const reach = reachOf(night, look);
  const estimate = reach && estimateReach(night, reach);
  return reach && estimate && answerFrom(night, estimate, reach, aim, look);
}

/** The answers at all looks, as the night has them now; null where it is unknown. */
export function answersNow(night: Night, aim: Aim): (NightAnswer | null)[] {
  const found = new Map<string, NightAnswer>();
  return night.looks.map((_, look) => {
    const reach = reachOf(night, look);
    if (!reach) return null;
    const from = reach[0]!;
    const estimate = estimateReach(night, reach);
    if (!estimate) return null;
    // Looks of one stance and mounting share their answer.
    const at = reach.indexOf(look);
    const last = look === night.looks.length - 1;
    const key = `${from} ${estimate.estimate.fit.stance[at]} ${estimate.estimate.fit.mounting[at]} ${last}`;
    const known = found.get(key) ?? answerFrom(night, estimate, reach, aim, look);
    found.set(key, known);
    return known;
  });
}

interface ReachEstimate {
  readonly estimate: MountEstimate;
  readonly frames: readonly LookFrame[];
}

/** What nights were asked already, by the first look of a reach: the fit of many looks takes a second, and is asked several times. */
const ESTIMATES = new WeakMap<Night, Map<number, ReachEstimate | null>>();

/** The estimate from all stars of looks that can be compared. */
function estimateReach(night: Night, reach: readonly number[]): ReachEstimate | null {
  let known = ESTIMATES.get(night);
  if (!known) ESTIMATES.set(night, known = new Map());
  const from = reach[0]!;
  if (!known.has(from)) known.set(from, newEstimate(night, reach));
  return known.get(from)!;
}

function newEstimate(night: Night, reach: readonly number[]): ReachEstimate | null {
  const frames = reach.map((i) => night.frames[i]!);
  const looks = reach.map((i) => night.looks[i]!);
  const anchor = reach[0] === 0 ? anchorInForce(looks, night.setting) : null;
  const grouping = groupingOf(night.accounts[0]!, reach);
  const centres = grouping.centres.filter((c): c is Vector => c !== null);
  if (centres.length < grouping.centres.length) return null;
  const poses = frames.map((f) => f.pose.pose);
  const axes: Vector[] = [];
  grouping.stance.forEach((s, i) => { axes[s] ??= apply(poses[i]!, centres[grouping.mounting[i]!]!); });
  const lens = anchor?.lens ?? referenceLens(looks, { ...night.setting, anchor: null });
  const start = alignedModel(poses, grouping, axes, centres, lens);
  const held = anchor ? [{ mounting: 0, centre: anchor.centre, covariance: covarianceNow(anchor) }] : [];
  const estimate = estimateMount(frames, start, night.setting.hemisphere, held, anchor !== null);
  return estimate && { estimate, frames };
}

function answerFrom(night: Night, { estimate, frames }: ReachEstimate, reach: readonly number[], aim: Aim, look: number): NightAnswer {
  const at = reach.indexOf(look);
  const { fit } = estimate;
  // Earlier looks are judged by all later ones; the last has only itself.
  const more = look === night.looks.length - 1 ? night.answers[look]!.amongAccounts : undefined;
  return {
    axis: axisInStance(estimate, frames, at, aim, night.setting.hemisphere, fit.excess, more),
    looks: reach,
    stance: reach.filter((_, i) => fit.stance[i] === fit.stance[at]),
    camera: cameraAt(fit, at, night.looks[look]!),
  };
}

function cameraAt(fit: JointFit, at: number, { width, height, utc }: Look): Anchor {
  const mounting = fit.mounting[at]!;
  const covariance = fit.centreCovariances[mounting]!.map((c) => c * fit.excess) as unknown as Covariance;
  return { centre: fit.centres[mounting]!, covariance, lens: fit.lens, width, height, utc, from: 'earlier-night' };
}

/** The looks that can be compared with one: from where axis and camera were last both unknown to where they are next. */
function reachOf({ accounts: [best] }: Night, look: number): number[] | null {
  if (!best || look < 0) return null;
  const { restarts, happened } = best;
  const from = restarts.filter((r) => r <= look).at(-1) ?? 0;
  const to = restarts.find((r) => r > look) ?? happened.length;
  return Array.from({ length: to - from }, (_, i) => from + i);
}

/** Looks that were answered wrongly, as later looks showed. */
export function correctionsOf(night: Night): PoseCorrection[] {
  const [best] = night.accounts;
  return best ? correct(best, night.answers, night.frames.map((f) => f.pose)) : [];
}


/**
 * How far axis or camera moved before a look, by the likeliest account, radians: by how much the axis of the look before is wrong now.
 */
export function gapBefore({ accounts, frames }: Night, look: number): number {
  const pair = [look - 1, look];
  const { centres } = groupingOf(accounts[0]!, pair);
  const centre = centres[0];
  if (!centre) return 0;
  const [before, now] = pair.map((i) => apply(frames[i]!.pose.pose, centre));
  return angleBetween(before!, now!);
}
