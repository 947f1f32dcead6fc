import { type Aim, aimedPole } from '../axis/aim.js';
import { axisWithError, horizontal } from '../axis/axisError.js';
import { axisSigma } from '../axis/axisResult.js';
import { jointFit } from '../axis/jointFit.js';
import { modelAbout } from '../axis/mountModel.js';
import { collectSightings } from '../axis/sightings.js';
import { axisBasis } from '../axis/axisBasis.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../geometry/angle.js';
import { type Rotation, apply, compose, inverse, rotationAbout } from '../geometry/rotation.js';
import { type Vector, add, cross, scale, unit } from '../geometry/vector.js';
import type { IdentifiedStar } from '../identify/identifyFrame.js';
import { type Lens, toPixel } from '../identify/lens.js';
import { type Catalogue, catalogueSigma } from '../sky/catalogue.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';
import { focalPixels } from './prepareField.js';
import { type StarCamera, starSignals, starsNear } from './prepareStars.js';

/** One-sigma errors of the axis on the sky, radians. */
export interface AxisPrecision {
  readonly up: number;
  readonly east: number;
}

/** A number of frames, and the whole turn. */
export interface Turning {
  readonly frames: number;
  /** Between the first and the last, radians. */
  readonly turn: number;
  readonly precision: AxisPrecision;
  /** Stars in the frame that has fewest. */
  readonly stars: number;
}

export interface RotationPlan {
  /** The recommended plan: null where the frames would have too few stars to be recognised. */
  readonly advised: Turning | null;
  /** It reaches the wanted precision. */
  readonly reached: boolean;
  /** For each number of frames the least turn that reaches it; null where the largest does not. */
  readonly least: readonly { readonly frames: number; readonly turning: Turning | null }[];
}

/** What is known before the night about the frames. */
export interface PlannedView {
  readonly sky: LocalSky;
  readonly hemisphere: Hemisphere;
  readonly camera: StarCamera;
  readonly exposureSeconds: number;
  readonly catalogue: Catalogue;
  readonly aim: Aim;
}

/** The rotations and numbers of frames that are tried. */
const TURNS_DEG = [5, 10, 15, 20, 30, 45, 60, 75, 90];
const FRAMES = [2, 3, 4, 6];
/** Three frames show that a clutch slipped, which two can't; 30° leave room for the slack of a hand. */
const ADVISED_FRAMES = 3;
const ADVISED_TURN = 30 * DEGREE;
/** The usual error of an axis before it is aligned, altitude and azimuth each: the effect of air on the answer grows with it. */
const ROUGH_AXIS = 20 * ARCMINUTE;
/** The camera looks this far beside the axis, share of the frame's height; at most some degrees. */
const BESIDE = 0.25;
const MOST_BESIDE = 3 * DEGREE;
/** With fewer in a frame it is not recognised. */
const LEAST_STARS = 7;
/** The number that identification uses. */
const MOST_STARS = 500;
const FOUND = 0.5;
const J2000 = Date.UTC(2000, 0, 1, 12);
const JULIAN_YEAR = 365.25 * 86_400_000;

/**
 * How far to turn and how many frames to take so that the uncertainty of the axis is `precision` (radians, 1σ, each coordinate on the sky):
 * from the covariance of the joint fit over the catalogue stars that this camera will see at this site, computed for each plan.
 */
export function planRotation(view: PlannedView, precision: number): RotationPlan {
  const scene = setScene(view);
  const worst = ({ precision: p }: Turning): number => Math.max(p.up, p.east);
  const known = new Map<string, Turning | null>();
  const turning = (frames: number, turn: number): Turning | null => {
    const key = `${frames} ${turn.toFixed(6)}`;
    if (!known.has(key)) known.set(key, forecastTurning(view, scene, frames, turn));
    return known.get(key)!;
  };
  const enough = (t: Turning | null): t is Turning => t !== null && worst(t) <= precision;
  const leastFor = (frames: number): Turning | null => {
    // A larger turn is more certain as long as the stars stay: bisect.
    if (!enough(turning(frames, TURNS_DEG.at(-1)! * DEGREE))) return null;
    let low = 0;
    let high = TURNS_DEG.length - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (enough(turning(frames, TURNS_DEG[middle]! * DEGREE))) high = middle;
      else low = middle + 1;
    }
    return turning(frames, TURNS_DEG[low]! * DEGREE);
  };
  const least = FRAMES.map((frames) => ({ frames, turning: leastFor(frames) }));
  const reaching = least.find((l) => l.frames >= ADVISED_FRAMES && l.turning !== null)?.turning ?? null;
  const most = turning(FRAMES.at(-1)!, TURNS_DEG.at(-1)! * DEGREE);
  const advised = reaching ? turning(reaching.frames, Math.max(reaching.turn, ADVISED_TURN)) : most;
  return { advised, reached: reaching !== null, least };
}

/** What does not depend on the plan. */
interface Scene {
  readonly axis: Vector;
  readonly aimed: Vector;
  readonly pole: Vector;
  readonly pose: Rotation;
  readonly lens: Lens;
  readonly stars: readonly SceneStar[];
}

interface SceneStar {
  readonly number: number;
  readonly direction: Vector;
  readonly magnitude: number;
  readonly signalToNoise: number;
  readonly sigma: number;
  readonly catalogueSigma: number;
}

function setScene({ sky, hemisphere, camera, exposureSeconds, catalogue, aim }: PlannedView): Scene {
  const pole = sky.refractedPole(hemisphere);
  const focal = focalPixels(camera);
  const lens: Lens = { focalPixels: focal, centreX: (camera.width - 1) / 2, centreY: (camera.height - 1) / 2, radial: [], mirrored: false };
  const axis = axisWithError(pole, ROUGH_AXIS, ROUGH_AXIS);
  const pose = cameraBeside(axis, Math.min(MOST_BESIDE, BESIDE * Math.atan(camera.height / focal)));
  const halfDiagonal = Math.atan(Math.hypot(camera.width, camera.height) / 2 / focal);
  const radius = Math.min(Math.PI / 2, halfDiagonal + 2 * MOST_BESIDE);
  const signal = starSignals(camera, exposureSeconds);
  const years = (sky.time.getTime() - J2000) / JULIAN_YEAR;
  const near = starsNear(catalogue, sky.fromLocal(pole), radius);
  const stars: SceneStar[] = [];
  const d = catalogue.directions;
  for (let i = 0; i < near.numbers.length; i++) {
    const number = near.numbers[i]!;
    const magnitude = near.magnitudes[i]!;
    const { found, sigma, signalToNoise } = signal(magnitude);
    if (found < FOUND) continue;
    const direction = sky.toLocal([d[3 * number]!, d[3 * number + 1]!, d[3 * number + 2]!]);
    if (direction[2] > 0) stars.push({
      number, direction, magnitude, signalToNoise, sigma, catalogueSigma: catalogueSigma(catalogue, number, years),
    });
  }
  return { axis, pole, aimed: aimedPole(sky, hemisphere, aim), pose, lens, stars };
}

/** The precision of a number of frames with a whole turn; null where the stars do not determine the axis. */
function forecastTurning({ camera, sky, aim }: PlannedView, scene: Scene, frames: number, turn: number): Turning | null {
  const { axis, pose, lens, stars } = scene;
  const angles = Array.from({ length: frames }, (_, i) => (turn * i) / (frames - 1));
  const shown = angles.map((angle) => {
    const toCamera = inverse(compose(rotationAbout(axis, angle), pose));
    const seen: IdentifiedStar[] = [];
    for (const star of stars) {
      const place = toPixel(lens, apply(toCamera, star.direction));
      if (!place || place.x < 0 || place.y < 0 || place.x > camera.width - 1 || place.y > camera.height - 1) continue;
      seen.push(asSeen(star, place, camera.fwhmPixels));
      if (seen.length === MOST_STARS) break;
    }
    return { stars: seen, pole: scene.pole };
  });
  if (shown.some((f) => f.stars.length < LEAST_STARS)) return null;
  // As many lens terms as the field of view needs in practice: they use up some of the information.
  const halfDiagonal = Math.hypot(camera.width, camera.height) / 2 / lens.focalPixels;
  const choice = { radialTerms: halfDiagonal < 0.01 ? 0 : halfDiagonal < 0.12 ? 1 : 2, centre: false };
  const poses = angles.map((angle) => compose(rotationAbout(axis, angle), pose));
  const fit = jointFit(collectSightings(shown), modelAbout(axis, poses, lens), choice, camera.width);
  if (!fit) return null;
  const sigma = axisSigma(fit.axes[0]!, fit.bases.axes[0]!, fit.axisCovariances[0]!, scene.aimed, aim, sky);
  return {
    frames, turn, stars: Math.min(...shown.map((f) => f.stars.length)),
    precision: { up: sigma.altitude, east: sigma.azimuth * Math.cos(horizontal(axis).altitude) },
  };
}

function asSeen(star: SceneStar, { x, y }: { x: number; y: number }, fwhm: number): IdentifiedStar {
  return {
    detection: {
      x, y, sigma: star.sigma, flux: 1, signalToNoise: star.signalToNoise, fwhm, elongation: 1, saturated: false, blended: false,
    },
    catalogue: star.number, direction: star.direction, catalogueSigma: star.catalogueSigma, magnitude: star.magnitude,
  };
}

/** A camera that looks a little beside an axis, its rows level: camera -> local. */
function cameraBeside(axis: Vector, beside: number): Rotation {
  const [up, east] = axisBasis(axis);
  const forward = unit(add(axis, scale(unit(add(up, east)), Math.tan(beside))));
  const right = unit(cross(forward, up));
  const down = cross(forward, right);
  return [right[0], down[0], forward[0], right[1], down[1], forward[1], right[2], down[2], forward[2]];
}

/** The precision where none is given: a tenth of an arcminute. */
export const USUAL_PRECISION = 6 * ARCSECOND;
