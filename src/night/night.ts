import { type AxisFrame, axisInStance, estimateMount } from '../axis/estimateMount.js';
import type { Aim } from '../axis/aim.js';
import type { AxisResult } from '../axis/axisResult.js';
import type { HeldCentre } from '../axis/jointFit.js';
import { alignedModel } from '../axis/mountModel.js';
import { apply } from '../geometry/rotation.js';
import type { Vector } from '../geometry/vector.js';
import { CAUCHY } from '../identify/cauchyLoss.js';
import { type Matches, fitPose } from '../identify/fitPose.js';
import type { Lens } from '../identify/lens.js';
import { poseCovariance } from '../identify/poseCovariance.js';
import { median } from '../numeric/median.js';
import { type Hemisphere, makeLocalSky } from '../sky/localSky.js';
import type { Site } from '../sky/site.js';
import { type Look, isSameLook, starsOfLook } from './look.js';
import type { PoseLook } from './poseLook.js';
import type { Anchor } from './anchor.js';
import { type PoseAnswer, type PoseCorrection, answerOf, correct } from './understanding.js';
import { type Account, type Setting, accountsFrom, groupingOf, weighLook } from './weigh.js';

/** Where the mount stands, which pole it looks to, and what was known before the night's first look. */
export interface NightSetting {
  /** Null where it is unknown: then nothing is known of up and down. */
  readonly site: Site | null;
  readonly hemisphere: Hemisphere;
  readonly anchor: Anchor | null;
}

/** A night: its looks in the order of time, and what they tell. A value: a change makes a new one. */
export interface Night {
  readonly setting: NightSetting;
  readonly looks: readonly Look[];
  /** What each look was answered with, from it and those before it. */
  readonly answers: readonly PoseAnswer[];
  /** @internal What follows from each look under the lens in force. */
  readonly frames: readonly LookFrame[];
  /** @internal All accounts of the looks, the likeliest first. */
  readonly accounts: readonly Account[];
}

/** A look in the sky of its moment, with its pose under the night's lens. */
interface LookFrame extends AxisFrame {
  readonly pose: PoseLook;
}

/** Whether a look that is added is news: `known` if the night has it, `late` if the night has a later one. */
export type News = 'new' | 'known' | 'late';

export function emptyNight(setting: NightSetting): Night {
  return { setting, looks: [], answers: [], frames: [], accounts: [] };
}

/** The night with one look more. A look that is in it already changes nothing; one that is older than the last takes its place in time. */
export function withLook(night: Night, look: Look): { readonly night: Night; readonly news: News } {
  if (night.looks.some((l) => isSameLook(l, look))) return { night, news: 'known' };
  const at = Date.parse(look.utc);
  const place = night.looks.findIndex((l) => Date.parse(l.utc) > at);
  if (place < 0) return { night: grown(night, look), news: 'new' };
  const looks = [...night.looks.slice(0, place), look, ...night.looks.slice(place)];
  return { night: nightOf(night.setting, looks), news: 'late' };
}

/** The night of some looks, in whatever order they are given. */
export function nightOf(setting: NightSetting, looks: readonly Look[]): Night {
  return [...looks].sort((a, b) => Date.parse(a.utc) - Date.parse(b.utc)).reduce((night, look) => withLook(night, look).night, emptyNight(setting));
}

function grown(night: Night, look: Look): Night {
  const { setting } = night;
  const looks = [...night.looks, look];
  const lens = referenceLens(looks, setting);
  const same = night.looks.length > 0 && lens === referenceLens(night.looks, setting);
  const frames = same ? [...night.frames, lookFrame(look, lens, setting)] : looks.map((l) => lookFrame(l, lens, setting));
  const poses = frames.map((f) => f.pose);
  const weighed = (accounts: readonly Account[], from: number): readonly Account[] => {
    let all = accounts;
    for (let i = from; i < poses.length; i++) {
      all = i === 0 ? accountsFrom(poses[0]!, weighing(frames[0]!, setting), setting.anchor) : weighLook(all, poses.slice(0, i + 1), weighing(frames[i]!, setting));
    }
    return all;
  };
  const accounts = same ? weighed(night.accounts, poses.length - 1) : weighed([], 0);
  return { setting, looks, frames, accounts, answers: [...night.answers, answerOf(accounts)] };
}

/** The lens of the look that knows it best: all poses are told through one, so that its faults are common to them. */
function referenceLens(looks: readonly Look[], { anchor }: NightSetting): Lens {
  if (anchor) return anchor.lens;
  return looks.reduce((a, b) => (b.stars.number.length > a.stars.number.length ? b : a)).lens;
}

function weighing({ sky }: AxisFrame, { hemisphere, site }: NightSetting): Setting {
  return { hemisphere, pole: sky.refractedPole(hemisphere), levelKnown: site !== null };
}

/** With fewer stars a pose is what the recognition made of it, and so unsure (radians). */
const LOOSE = 1e-3;

function lookFrame(look: Look, lens: Lens, { site }: NightSetting): LookFrame {
  const sky = makeLocalSky(new Date(look.utc), site);
  const stars = starsOfLook(look, sky);
  const matches: Matches = {
    count: stars.length,
    directions: Float64Array.from(stars.flatMap((s) => s.direction)),
    x: Float64Array.from(look.stars.x),
    y: Float64Array.from(look.stars.y),
    sigma: Float64Array.from(stars, (s) => Math.hypot(s.detection.sigma, s.catalogueSigma * lens.focalPixels)),
  };
  const fit = fitPose(matches, look.pose, lens, { focal: false, radialTerms: 0, robust: CAUCHY.scale, iterations: 10 });
  const spread = fit && poseCovariance(matches, fit.pose, lens);
  const factor = fit ? varianceFactor(fit.residuals, matches.sigma) : 1;
  const pose: PoseLook = {
    time: sky.time.getTime(),
    pose: fit?.pose ?? look.pose,
    spread: spread ? spread.map((v) => v * factor) : Float64Array.from([LOOSE, 0, 0, 0, LOOSE, 0, 0, 0, LOOSE], (v) => v * v),
    ...(look.said ? { said: look.said } : {}),
  };
  const identification = { pose: look.pose, lens: look.lens, stars, residualPixels: fit?.rms ?? NaN, logOdds: NaN };
  return { identification, sky, width: look.width, height: look.height, pose };
}

/** Median of χ² with two degrees of freedom. */
const MEDIAN_CHI_SQUARED = 2 * Math.LN2;

/** How much larger the stars' errors are than said, as most of them show it; at least one. */
function varianceFactor(residuals: Float64Array, sigma: Float64Array): number {
  if (residuals.length < 8) return 1;
  return Math.max(1, median(residuals.map((r, i) => (r / sigma[i]!) ** 2)) / MEDIAN_CHI_SQUARED);
}

/** Where the axis points, as the stars of all looks show it together; null where they don't yet. */
export interface NightAnswer {
  /** In the stance of the look. `frames` are those of `looks`. */
  readonly axis: AxisResult;
  /** Numbers of the looks that the estimate rests on: all since the camera's place on the mount was last unknown. */
  readonly looks: readonly number[];
  /** Those of them in the look's own stance. */
  readonly stance: readonly number[];
}

/**
 * The answer at a look, the last unless said, by all looks that the night holds.
 *
 * @param aim the pole that errors and sigmas are counted from
 */
export function answerAt(night: Night, aim: Aim, look = night.looks.length - 1): NightAnswer | null {
  const [best] = night.accounts;
  if (!best || night.answers.at(-1)!.axis === null && look === night.looks.length - 1) return null;
  const reach = reachOf(best, look);
  if (!reach) return null;
  const frames = reach.map((i) => night.frames[i]!);
  const { hemisphere, anchor } = night.setting;
  const grouping = groupingOf(best, reach);
  const poses = frames.map((f) => f.pose.pose);
  const centres = grouping.centres;
  if (centres.some((c) => c === null)) return null;
  const axes: Vector[] = [];
  grouping.stance.forEach((s, i) => { axes[s] ??= apply(poses[i]!, centres[grouping.mounting[i]!]!); });
  const start = alignedModel(poses, grouping, axes, centres as readonly Vector[], frames[0]!.identification.lens);
  const held = anchor && reach[0] === 0 ? heldBy(anchor) : [];
  const withLens = { ...start, lens: referenceLens(reach.map((i) => night.looks[i]!), night.setting) };
  const estimate = estimateMount(frames, withLens, hemisphere, held, anchor !== null);
  if (!estimate) return null;
  const at = reach.indexOf(look);
  return {
    axis: axisInStance(estimate, frames, at, aim, hemisphere),
    looks: reach,
    stance: reach.filter((_, i) => grouping.stance[i] === grouping.stance[at]),
  };
}

function heldBy({ centre, covariance }: Anchor): HeldCentre[] {
  return [{ mounting: 0, centre, covariance }];
}

/** The looks that can be compared with one: from where axis and camera were last both unknown to where they are next. */
function reachOf({ restarts, happened }: Account, look: number): number[] | null {
  if (look < 0) return null;
  const from = restarts.filter((r) => r <= look).at(-1) ?? 0;
  const to = restarts.find((r) => r > look) ?? happened.length;
  return Array.from({ length: to - from }, (_, i) => from + i);
}

/** Looks that were answered wrongly, as those after them showed. */
export function correctionsOf(night: Night): PoseCorrection[] {
  const [best] = night.accounts;
  return best ? correct(best, night.answers, night.frames.map((f) => f.pose)) : [];
}

