import { ARCSECOND, DEGREE } from '../geometry/angle.js';
import { type Rotation, apply, inverse } from '../geometry/rotation.js';
import { type Vector, angleBetween, unit } from '../geometry/vector.js';
import type { Image } from '../frames/frame.js';
import { type Lens, toDirection, toPixel } from '../identify/lens.js';
import type { StarCatalogue } from '../sky/catalogueSky.js';
import { type LocalSky, makeLocalSky } from '../sky/localSky.js';
import { expectedPole } from '../sky/polarMotion.js';
import { SIDEREAL_RATE } from '../sky/siderealRate.js';
import { drivenPose } from './drivenPose.js';
import type { Canvas } from './hardSky.js';
import { type AxisPlace, axisDirection, axisPlace, elevatedPole } from './mount.js';
import type { NightPlan } from './nightPlan.js';
import { type Random, makeRandom } from './random.js';
import { addHotPixels, exposeSensor, vignette } from './sensor.js';
import { starsAnywhere } from './starsAnywhere.js';
import { type StarProfile, makeProfile, paintStar } from './starProfile.js';
import { type TrueStars, trueStars } from './trueStars.js';

/** A pixel position, 0-based, centre of the first stored pixel = 0. */
export interface Pixel {
  readonly x: number;
  readonly y: number;
}

/** The truth about a frame. */
export interface FrameTruth {
  readonly startUtc: Date;
  /** Middle of the exposure. */
  readonly midUtc: Date;
  readonly axis: AxisPlace;
  /** Camera -> local frame at mid-exposure. */
  readonly pose: Rotation;
  readonly lens: Lens;
  /** Where the axis points, and where both poles would be seen; they may lie off the frame. Null behind the camera. */
  readonly rotationCentre: Pixel | null;
  readonly refractedPole: Pixel | null;
  readonly truePole: Pixel | null;
  /** Stars on the frame at mid-exposure, catalogue stars first, brightest catalogue star first. */
  readonly stars: StarTruth;
}

/** Stars on a frame: entry i of each array is one star. */
export interface StarTruth {
  readonly count: number;
  /** Index in the catalogue; -1 = not in it. */
  readonly catalogueIndex: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** From first to last light, pixels: how far the star trails. */
  readonly trail: Float64Array;
  /** In the whole exposure, before vignetting and cloud. */
  readonly electrons: Float64Array;
}

export interface NightFrame {
  readonly image: Image;
  readonly truth: FrameTruth;
}

/** A night ready to be rendered, frame by frame. */
export interface Night {
  readonly plan: NightPlan;
  readonly lens: Lens;
  readonly stars: TrueStars;
  readonly profile: StarProfile;
}

/** The camera of a plan. FITS viewers draw the first row at the bottom, which mirrors the picture: see `NightPlan.mirrored`. */
export function planLens(plan: NightPlan): Lens {
  return {
    focalPixels: (plan.focalLengthMillimetres * 1000) / plan.pixelSizeMicrometres,
    centreX: (plan.width - 1) / 2 + plan.principalPointOffset.x,
    centreY: (plan.height - 1) / 2 + plan.principalPointOffset.y,
    radial: plan.distortion,
    ...(plan.tangential ? { tangential: plan.tangential } : {}),
    mirrored: !plan.mirrored,
  };
}

/** Nearer to a pole than this a night uses the catalogue around the pole. */
const AT_POLE = Math.cos(12 * DEGREE);

/** Fixes the stars of a night: all that can appear in any of its frames. */
export function planNight(plan: NightPlan, catalogue: StarCatalogue): Night {
  const lens = planLens(plan);
  const random = makeRandom(plan.seed);
  const sky = skyAt(plan, plan.startUtc);
  const middles = plan.rotationsDeg.map((_, frame) =>
    skyAt(plan, startOf(plan, frame)).fromLocal(apply(drivenPose(plan, frame, frame * plan.intervalSeconds), [0, 0, 1])));
  const reach = fieldRadius(plan, lens) + 0.2 * DEGREE;
  const profile = makeProfile(plan.fwhmPixels, plan.moffatBeta, plan.elongation, plan.elongationDirectionDeg * DEGREE);
  const faintest = faintestMagnitude(plan);
  if (catalogue.whole && middles.some((middle) => Math.abs(middle[2]) < AT_POLE)) {
    const apart = Math.max(...middles.map((middle) => angleBetween(middles[0]!, middle)));
    const caps = apart < reach ? [{ centre: middles[0]!, radius: apart + reach }] : middles.map((centre) => ({ centre, radius: reach }));
    return { plan, lens, profile, stars: starsAnywhere(plan, catalogue.whole(), caps, faintest, random.stream('stars')) };
  }
  // At the pole the field turns with the mount; a tracked field is a small part of the sky.
  const centre = plan.drive ? middles[0]! : sky.fromLocal(sky.refractedPole(elevatedPole(plan.site.latitude)));
  const radius = Math.max(...middles.map((middle) => angleBetween(centre, middle)));
  const cap = { centre, radius: Math.min(Math.PI, radius + reach) };
  return { plan, lens, profile, stars: trueStars(plan, catalogue, cap, faintest, random.stream('stars')) };
}

/** All frames of a night. */
export function renderNight(plan: NightPlan, catalogue: StarCatalogue): NightFrame[] {
  const night = planNight(plan, catalogue);
  return plan.rotationsDeg.map((_, frame) => renderFrame(night, frame));
}

/** One frame of a night, `frame` from 0. `noise` false leaves out the noise, hot pixels and everything else that is random. */
export function renderFrame(night: Night, frame: number, noise = true): NightFrame {
  const { plan } = night;
  const random = makeRandom(plan.seed);
  const paths = starPaths(night, frame);
  const canvas: Canvas = { width: plan.width, height: plan.height, data: new Float32Array(plan.width * plan.height) };
  paintStars(canvas, night, paths, noise ? random.stream(`wander ${frame}`) : null);
  for (const [k, effect] of (plan.hardSky.starlight ?? []).entries()) effect(canvas, frame, random.stream(`starlight ${k} ${frame}`));
  for (let i = 0; i < canvas.data.length; i++) canvas.data[i]! += plan.skyElectrons;
  for (const [k, effect] of (plan.hardSky.light ?? []).entries()) effect(canvas, frame, random.stream(`light ${k} ${frame}`));
  vignette(canvas, plan.vignetting);
  if (noise) addHotPixels(canvas, plan, random.stream('hot pixels'));
  const data = exposeSensor(canvas, plan, noise ? random.stream(`noise ${frame}`) : null);
  const image: Image = { width: plan.width, height: plan.height, data, ceiling: Math.min(65535, plan.ceilingAdu) };
  return { image, truth: truthFrom(night, frame, paths) };
}

/** The truth about a frame, without rendering it. */
export function frameTruth(night: Night, frame: number): FrameTruth {
  return truthFrom(night, frame, starPaths(night, frame));
}

function truthFrom(night: Night, frame: number, paths: StarPaths): FrameTruth {
  const { plan, lens } = night;
  const middle = plan.exposureSeconds / 2;
  const midUtc = new Date(startOf(plan, frame).getTime() + middle * 1000);
  const hemisphere = elevatedPole(plan.site.latitude);
  const sky = skyAt(plan, midUtc);
  const pose = drivenPose(plan, frame, frame * plan.intervalSeconds + middle);
  const axis = axisPlace(plan, frame);
  const see = (direction: Vector): Pixel | null => toPixel(lens, apply(inverse(pose), direction));
  return {
    startUtc: startOf(plan, frame),
    midUtc,
    axis,
    pose,
    lens,
    rotationCentre: see(axisDirection(axis)),
    refractedPole: see(sky.refractedPole(hemisphere)),
    truePole: see(sky.truePole(hemisphere)),
    stars: starsOnFrame(night, paths),
  };
}

/** The sky over the site, its pole shifted by the night's polar motion. */
function skyAt(plan: NightPlan, time: Date): LocalSky {
  const random = makeRandom(plan.seed).stream('wobble');
  const mean = expectedPole(plan.startUtc);
  const wobble = plan.polarWobbleArcsec * ARCSECOND;
  return makeLocalSky(time, plan.site, { x: mean.x + wobble * random.normal(), y: mean.y + wobble * random.normal() });
}

function startOf(plan: NightPlan, frame: number): Date {
  return new Date(plan.startUtc.getTime() + Math.round(frame * plan.intervalSeconds * 1000));
}

/** Angle from the optical axis to the farthest corner, radians. */
function fieldRadius(plan: NightPlan, lens: Lens): number {
  let radius = 0;
  for (const x of [0, plan.width - 1]) {
    for (const y of [0, plan.height - 1]) radius = Math.max(radius, angleBetween([0, 0, 1], toDirection(lens, x, y)));
  }
  return radius;
}

/** Stars with less than this many times the noise in the pixels they cover are part of the sky's light. */
const WORTH_PAINTING = 1;

function faintestMagnitude(plan: NightPlan): number {
  const covered = Math.PI * plan.fwhmPixels * plan.fwhmPixels;
  const electrons = WORTH_PAINTING * Math.sqrt(covered * (plan.skyElectrons + plan.readNoise ** 2 + 1));
  return 2.5 * Math.log10((plan.electronsAtMagnitude0 * plan.exposureSeconds) / electrons);
}

/** Within this time a star's path in the camera is a parabola to 0.0001 px (a thousand pixels from the pole). */
const LONGEST_PIECE_SECONDS = 300;

/** Paths of the stars near a frame: pixels at the start, the middle and the end of each piece of the exposure. */
interface StarPaths {
  readonly star: number[];
  /** Times: 2·pieces + 1. */
  readonly moments: number;
  /** Pixels, `[k * moments + moment]` for the k-th star; NaN behind the camera. */
  readonly x: Float64Array;
  readonly y: Float64Array;
}

function starPaths(night: Night, frame: number): StarPaths {
  const { plan, lens, stars } = night;
  const start = startOf(plan, frame);
  const star = starsNear(night, frame);
  const pieces = Math.max(1, Math.ceil(plan.exposureSeconds / LONGEST_PIECE_SECONDS));
  const moments = 2 * pieces + 1;
  const directions = new Float64Array(3 * star.length);
  star.forEach((i, k) => {
    for (let j = 0; j < 3; j++) directions[3 * k + j] = stars.directions[3 * i + j]!;
  });
  const local = new Float64Array(directions.length);
  const x = new Float64Array(star.length * moments).fill(NaN);
  const y = new Float64Array(star.length * moments).fill(NaN);
  for (let moment = 0; moment < moments; moment++) {
    const seconds = (plan.exposureSeconds * moment) / (moments - 1);
    skyAt(plan, new Date(start.getTime() + seconds * 1000)).toLocalAll(directions, local);
    const toCamera = inverse(drivenPose(plan, frame, frame * plan.intervalSeconds + seconds));
    for (let k = 0; k < star.length; k++) {
      const pixel = toPixel(lens, apply(toCamera, [local[3 * k]!, local[3 * k + 1]!, local[3 * k + 2]!]));
      if (!pixel) continue;
      x[k * moments + moment] = pixel.x;
      y[k * moments + moment] = pixel.y;
    }
  }
  return { star, moments, x, y };
}

/** Stars that may be in a frame, or whose light may reach it. */
function starsNear(night: Night, frame: number): number[] {
  const { plan, lens, stars } = night;
  const seconds = plan.exposureSeconds / 2;
  const forward = apply(drivenPose(plan, frame, frame * plan.intervalSeconds + seconds), [0, 0, 1]);
  const sky = skyAt(plan, new Date(startOf(plan, frame).getTime() + seconds * 1000));
  const [fx, fy, fz] = unit(sky.fromLocal(forward));
  const margin = (20 + 10 * plan.fwhmPixels) / lens.focalPixels + SIDEREAL_RATE * plan.exposureSeconds;
  const cosine = Math.cos(Math.min(Math.PI, fieldRadius(plan, lens) + margin));
  const near: number[] = [];
  const d = stars.directions;
  for (let i = 0; i < stars.count; i++) {
    if (d[3 * i]! * fx + d[3 * i + 1]! * fy + d[3 * i + 2]! * fz > cosine) near.push(i);
  }
  return near;
}

/** Steps along a trail, pixels: as smooth as the light of a moving star to 1e-3. */
const TRAIL_STEP = 0.3;

function paintStars(canvas: Canvas, night: Night, paths: StarPaths, random: Random | null): void {
  const { plan, profile, stars } = night;
  const { moments, x, y } = paths;
  const { data, width, height } = canvas;
  // Light fainter than a hundredth of the noise is lost in it.
  const faintest = 0.01 * Math.sqrt(plan.skyElectrons + plan.readNoise ** 2 + 1);
  const pieces = (moments - 1) / 2;
  for (let k = 0; k < paths.star.length; k++) {
    const electrons = electronsOf(plan, stars.magnitudes[paths.star[k]!]!) / pieces;
    const dx = random ? plan.wanderPixels * random.normal() : 0;
    const dy = random ? plan.wanderPixels * random.normal() : 0;
    for (let at = k * moments; at + 2 < (k + 1) * moments; at += 2) {
      const length = Math.hypot(x[at + 2]! - x[at]!, y[at + 2]! - y[at]!);
      if (!(length < 1e5)) continue;
      const steps = Math.max(1, Math.ceil(length / TRAIL_STEP));
      for (let step = 0; step < steps; step++) {
        const t = (step + 0.5) / steps;
        const px = onParabola(x[at]!, x[at + 1]!, x[at + 2]!, t) + dx;
        const py = onParabola(y[at]!, y[at + 1]!, y[at + 2]!, t) + dy;
        paintStar(data, width, height, profile, px, py, electrons / steps, faintest / steps);
      }
    }
  }
}

/** Through a at t = 0, b at 1/2, c at 1. */
function onParabola(a: number, b: number, c: number, t: number): number {
  return a * (1 - t) * (1 - 2 * t) + 4 * b * t * (1 - t) + c * t * (2 * t - 1);
}

function electronsOf(plan: NightPlan, magnitude: number): number {
  return plan.electronsAtMagnitude0 * plan.exposureSeconds * Math.pow(10, -0.4 * magnitude);
}

function starsOnFrame(night: Night, paths: StarPaths): StarTruth {
  const { plan, stars } = night;
  const { moments, x, y } = paths;
  const middle = (moments - 1) / 2;
  const on = paths.star.map((_, k) => k).filter((k) => {
    const at = k * moments + middle;
    return x[at]! >= -0.5 && x[at]! < plan.width - 0.5 && y[at]! >= -0.5 && y[at]! < plan.height - 0.5;
  });
  return {
    count: on.length,
    catalogueIndex: Int32Array.from(on, (path) => stars.catalogueIndex[paths.star[path]!]!),
    x: Float64Array.from(on, (k) => x[k * moments + middle]!),
    y: Float64Array.from(on, (k) => y[k * moments + middle]!),
    trail: Float64Array.from(on, (k) => trailOf(paths, k)),
    electrons: Float64Array.from(on, (path) => electronsOf(plan, stars.magnitudes[paths.star[path]!]!)),
  };
}

function trailOf({ moments, x, y }: StarPaths, k: number): number {
  let length = 0;
  for (let at = k * moments + 1; at < (k + 1) * moments; at++) length += Math.hypot(x[at]! - x[at - 1]!, y[at]! - y[at - 1]!);
  return length;
}
