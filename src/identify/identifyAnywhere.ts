import { DEGREE } from '../geometry/angle.js';
import { type Rotation, apply, rotationAbout } from '../geometry/rotation.js';
import { type Vector, angleBetween } from '../geometry/vector.js';
import type { SkyCatalogue, StarCatalogue } from '../sky/catalogueSky.js';
import { type Hemisphere, type LocalSky, makeLocalSky } from '../sky/localSky.js';
import type { DetectedStar } from '../stars/star.js';
import { ACCEPTED_ODDS } from './chanceOdds.js';
import { type Identification, finishedIdentification } from './identifyFrame.js';
import type { JudgedPose } from './judgePose.js';
import { type Effort, type SearchMemory, searchPoses } from './searchPose.js';
import { type SkyPart, type SkyPose, partsFrom, searchSky, starsToMatch } from './searchSky.js';
import { type Spots, makeSpots } from './spots.js';
import { toIcrs } from './icrsPose.js';
import { oddsAfterTurn } from './oddsAfterTurn.js';
import { type CapStars, HINT_REACH, type StarCap, hemisphereStars, regionStars, starCap } from './starCap.js';
import type { SearchHints } from './trials.js';

/** What is known beforehand, besides the lens. Nothing here is needed, and what is wrong costs time only. */
export interface PlaceHints extends SearchHints {
  /** Where the frame may look (ICRS), the most trusted first: believed within 15°, never decisive. */
  readonly places?: readonly Vector[];
  /** Pose (camera to ICRS) of an earlier frame of the same camera on the same mount: a pose that follows from it by a turn is likelier. */
  readonly turnedFrom?: Rotation;
  /**
   * Only what is quick, before the whole sky is searched for the first time, or only what comes after that, or only places to which a turn
   * leads from the earlier frame; absent: all.
   */
  readonly part?: 'quick' | 'long' | 'turned';
  /** Logarithm of the odds that the earlier frame lacks: this one must have so much more. */
  readonly lacking?: number;
  /** Where nothing is accepted, the likeliest pose is wanted if it nearly is. */
  readonly suppose?: boolean;
}

/** What one recognised frame leaves for the next. */
export interface SkyMemory {
  readonly halves: Map<Hemisphere, { readonly stars: CapStars; readonly memory: SearchMemory }>;
  /** The stars around the place that was hinted at last, by how far from it frames are looked for. */
  readonly regions: Map<number, {
    readonly place: Vector;
    /** Stars are known this far from it, radians. */
    readonly radius: number;
    readonly stars: CapStars;
    readonly memory: SearchMemory;
  }>;
}

export function emptySkyMemory(): SkyMemory {
  return { halves: new Map(), regions: new Map() };
}

/** A frame recognised somewhere in the sky. */
export interface Recognised {
  readonly identification: Identification;
  /**
   * The sky in whose frame pose and directions are: the one given, or the same without a site if the frame shows what the
   * site's horizon hides, so that site or time must be wrong.
   */
  readonly sky: LocalSky;
  /** What led to it. */
  readonly by: 'pole' | 'place' | 'sky';
  /**
   * Logarithm of the odds that it lacks: 0 where it is recognised. Where more, this is only the likeliest pose of a frame that is not, and
   * nearly so: another frame of the same camera may bear it out.
   */
  readonly lacking: number;
}

/** A pose that lacks more than this (logarithm of the odds) is none. */
const MOST_LACKING = 6;
/** A hinted place this near to a pole is the pole: that is where frames near it are looked for. */
const AT_POLE = 12 * DEGREE;
/** Whoever points at the pole is rarely farther off. */
const POINTED = 5 * DEGREE;
/** Focal lengths that differ by less are searched as one. */
const SAME_SCALE = 0.05;
/** Another hint this near to the one before is served by its stars. */
const SAME_PLACE = 2 * DEGREE;
/** Frames are looked for this near to a hinted place first: mounts and people are rarely farther off, and it needs few stars. */
const HINT_NEAR = 5 * DEGREE;
/** Around a hinted place all stars to V 11 are taken that a frame with a half diagonal below this can show, and some more. */
const NARROW = 4 * DEGREE;
const MORE = 1 * DEGREE;
/** A field with fewer catalogue stars than this on the average is sparse. */
const SPARSE = 25;
/** For wider frames: all stars to V 11 within this, the brighter ones farther out. */
const DEEP = 22 * DEGREE;
const REGION = 55 * DEGREE;
const BRIGHT = 8.5;

/**
 * Recognises the stars of a frame wherever it looks, by what is trusted most first: near a pole, near the hinted place,
 * above the horizon, anywhere. Field widths 1° to 60°, near the poles and near a hinted place narrower ones too. Works in
 * steps: it yields every few milliseconds, so that whoever runs it may do something else, or leave it. Null if nothing
 * reaches the accepted odds against chance over all that is searched; if asked for, the likeliest pose that nearly does.
 *
 * @param detections brightest first
 * @param sky at the frame's time, with or without a site
 * @param memory from an earlier frame of the same set, or a new one
 */
export function* identifyAnywhere(
  detections: readonly DetectedStar[], width: number, height: number, catalogue: StarCatalogue, sky: LocalSky,
  hints: PlaceHints, memory: SkyMemory,
): Generator<null, Recognised | null> {
  const spots = makeSpots(detections, width, height);
  if (spots.count < 4) return null;
  const task: Task = { detections, spots, catalogue, sky, hints, memory, likeliest: null };
  const steps = stepsFor(task);
  const first = steps.findIndex(({ wholeSky }) => wholeSky);
  const long = first < 0 ? steps.length : first;
  for (const { search } of hints.part === 'quick' ? steps.slice(0, long) : hints.part === 'long' ? steps.slice(long) : steps) {
    const found = yield* search();
    if (found) return found;
  }
  return hints.suppose ? task.likeliest?.finish() ?? null : null;
}

interface Task {
  readonly detections: readonly DetectedStar[];
  readonly spots: Spots;
  readonly catalogue: StarCatalogue;
  readonly sky: LocalSky;
  readonly hints: PlaceHints;
  readonly memory: SkyMemory;
  /** Of the poses that were not accepted. */
  likeliest: { readonly lacking: number; readonly finish: () => Recognised | null } | null;
}

interface Step {
  readonly search: () => Generator<null, Recognised | null>;
  /** It takes seconds. */
  readonly wholeSky?: boolean;
}

/**
 * What is tried, one after the other. What was done before the rest of the sky could be seen comes first: whoever looks near a
 * pole does not wait for it.
 */
function stepsFor(task: Task): Step[] {
  const { hints, sky } = task;
  const { places = [], lens, focalPixels } = hints;
  const atPole = places.map((place) => polesAt(place, AT_POLE)).find((pole) => pole !== null) ?? null;
  const aways = task.catalogue.whole ? places.filter((place) => polesAt(place, AT_POLE) === null) : [];
  const own: Hemisphere = atPole ?? (sky.site !== null && sky.site.latitude < 0 ? -1 : 1);
  const other: Hemisphere = own === 1 ? -1 : 1;
  const byLens: SearchHints | null = lens ? { lens, only: true } : null;
  if (hints.part === 'turned') {
    const turned = byLens && hints.turnedFrom && task.catalogue.whole ? turnedPlaces(hints.turnedFrom, sky, [0, ...TURNS]) : [];
    return turned.map((place) => ({ search: () => nearPlace(task, place, byLens!) }));
  }
  // What the lens' own scale found nothing with need not be tried again.
  const told = focalPixels !== undefined && !(lens && Math.abs(lens.focalPixels / focalPixels - 1) < SAME_SCALE);
  const byScale: SearchHints | null = told ? { focalPixels, only: true } : null;
  const everywhere = partsFrom(zenith(sky));
  const pole = (hemisphere: Hemisphere, ask: SearchHints, effort: Effort, reach?: number): Step =>
    ({ search: () => nearPole(task, hemisphere, ask, effort, reach) });
  const inSky = (ask: SearchHints, parts: readonly SkyPart[]): Step =>
    ({ search: () => anywhere(task, ask, parts), wholeSky: parts === everywhere });
  const steps: Step[] = [];
  for (const known of [byLens, byScale]) {
    if (known) steps.push(...aways.map((away) => ({ search: () => nearPlace(task, away, known) })), pole(own, known, 'all'));
  }
  const rest = !hints.only;
  // A camera whose lens other frames settled has it still: other scales are worth a look at the pole, no search of the whole sky.
  const blind = rest && !lens;
  // Whoever points at the pole is within some degrees of it. Wide fields farther off are found with the whole sky in no time.
  const whole = task.catalogue.whole !== undefined;
  const near = whole && !lens ? POINTED : undefined;
  const farther = pole(own, { searched: POINTED, fields: 'narrow' }, 'first');
  if (rest && aways.length === 0) steps.push(pole(own, {}, 'first', near));
  for (const known of [byLens, byScale]) {
    if (known) steps.push(pole(other, known, 'all'), inSky(known, everywhere));
  }
  if (byLens && hints.turnedFrom && task.catalogue.whole) {
    steps.push(...turnedPlaces(hints.turnedFrom, sky).map((place) => ({ search: () => nearPlace(task, place, byLens), wholeSky: true })));
  }
  if (rest && aways.length === 0 && near !== undefined) steps.push(farther);
  if (!rest) return steps;
  if (!blind) return [...steps, pole(own, {}, 'later')];
  if (!task.catalogue.whole) return [...steps, pole(own, {}, 'later'), pole(other, {}, 'all')];
  // One pole is likelier than the other where a site or a hint names it.
  const named = atPole !== null || sky.site !== null;
  if (aways.length > 0) {
    steps.push(...aways.map((around) => inSky({}, [{ around, from: 0, to: HINT_REACH }])), pole(own, {}, 'first', near), farther);
  }
  // Wide fields are found with the whole sky in no time: only a pole that something names is searched for them to the end. What is
  // farther from a pole is left to the search of the whole sky.
  const narrow: SearchHints = { fields: 'narrow' };
  if (!named) steps.push(pole(other, narrow, 'first', POINTED));
  return [
    ...steps, inSky({ fields: 'wide' }, everywhere), pole(own, named ? {} : narrow, 'later', POINTED),
    { search: () => anywhere(forgetful(task), narrow, everywhere), wholeSky: true },
    named ? pole(other, narrow, 'first') : pole(other, narrow, 'later', POINTED),
  ];
}

/** Turns in right ascension, degrees, to the middles of the parts of a declination's circle that are searched one after the other. */
const TURNS = [28, -28, 56, -56, 84, -84] as const;

/**
 * Where the camera may look after a turn: triangles, of which the stars near such a place are asked, need fewer stars than the quads of the
 * whole sky.
 */
function turnedPlaces(from: Rotation, sky: LocalSky, turns: readonly number[] = TURNS): Vector[] {
  const place: Vector = [from[2], from[5], from[8]];
  const across = Math.hypot(place[0], place[1]);
  return turns.map((turn) => apply(rotationAbout([0, 0, 1], (turn / Math.max(across, LEAST_CIRCLE)) * DEGREE), place))
    .filter((there) => sky.site === null || sky.toLocal(there)[2] > 0);
}

/** Nearer to the pole than this (sine of the distance) the parts are as wide as here. */
const LEAST_CIRCLE = 0.5;

/** The poles' indexes of triangles are let go: they would lie beside the most stars that a search holds. */
function forgetful(task: Task): Task {
  for (const { memory } of task.memory.halves.values()) memory.clear();
  return task;
}

function polesAt(place: Vector, within: number): Hemisphere | null {
  if (angleBetween(place, [0, 0, 1]) < within) return 1;
  return angleBetween(place, [0, 0, -1]) < within ? -1 : null;
}

/** ICRS direction of what is overhead; without a site that of the celestial pole. */
function zenith(sky: LocalSky): Vector {
  return sky.fromLocal([0, 0, 1]);
}

function* nearPole(
  task: Task, hemisphere: Hemisphere, hints: SearchHints, effort: Effort, reach?: number,
): Generator<null, Recognised | null> {
  const { halves } = task.memory;
  let half = halves.get(hemisphere);
  if (!half) halves.set(hemisphere, (half = { stars: hemisphereStars(task.catalogue, hemisphere), memory: new Map() }));
  // The pole of the other hemisphere is below the horizon.
  const { site } = task.sky;
  const sky = site === null || (site.latitude >= 0 ? 1 : -1) === hemisphere ? task.sky : makeLocalSky(task.sky.time, null);
  const cap = starCap(half.stars, sky);
  return yield* inCap(task, { ...cap, reach: reach ?? cap.reach }, sky, hints, half.memory, effort, 'pole');
}

function* nearPlace(task: Task, place: Vector, hints: SearchHints): Generator<null, Recognised | null> {
  const { memory, sky, spots } = task;
  const focalPixels = hints.lens?.focalPixels ?? hints.focalPixels!;
  const corner = Math.atan(Math.hypot(spots.width, spots.height) / 2 / focalPixels);
  const there = sky.site === null || sky.toLocal(place)[2] > 0 ? sky : makeLocalSky(sky.time, null);
  const narrow = corner < NARROW;
  let searched = 0;
  for (const reach of narrow ? [HINT_NEAR, HINT_REACH] : [HINT_REACH]) {
    const radius = narrow ? reach + 1.3 * corner + MORE : REGION;
    const faintest = (distance: number): number => (narrow || distance < DEEP ? Infinity : BRIGHT);
    let region = memory.regions.get(reach);
    if (!region || region.radius < radius || angleBetween(region.place, place) > SAME_PLACE) {
      const stars = regionStars(task.catalogue.whole!(), place, reach, radius + SAME_PLACE, faintest, sky.time);
      memory.regions.set(reach, region = { place, radius, stars, memory: new Map() });
    }
    const density = region.stars.magnitudes.length / (2 * Math.PI * (1 - Math.cos(region.radius + SAME_PLACE)));
    const sparse = narrow && (density * spots.width * spots.height) / focalPixels ** 2 < SPARSE;
    const asked = { ...hints, searched, sparse };
    const found = yield* inCap(task, starCap(region.stars, there), there, asked, region.memory, 'all', 'place');
    if (found) return found;
    searched = reach;
  }
  return null;
}

function* inCap(
  task: Task, cap: StarCap, sky: LocalSky, hints: SearchHints, memory: SearchMemory, effort: Effort,
  by: Recognised['by'],
): Generator<null, Recognised | null> {
  const { detections, spots } = task;
  const finish = (pose: JudgedPose, lacking: number): Recognised | null => {
    const identification = finishedIdentification(detections, spots.width, spots.height, cap, pose);
    return identification && { identification, sky, by, lacking };
  };
  const needed = (pose: JudgedPose): number => oddsNeeded(pose.pose, sky, task.hints);
  return yield* accepted(task, searchPoses(spots, cap, hints, memory, effort), needed, finish);
}

function* anywhere(task: Task, hints: SearchHints, parts: readonly SkyPart[]): Generator<null, Recognised | null> {
  const { detections, spots, sky } = task;
  const catalogue: SkyCatalogue | undefined = task.catalogue.whole?.();
  if (!catalogue) return null;
  const finish = (pose: SkyPose, lacking: number): Recognised | null => {
    const identification = finishedIdentification(detections, spots.width, spots.height, starsToMatch(catalogue, pose, spots), pose);
    return identification && { identification, sky: pose.sky, by: 'sky', lacking };
  };
  const needed = (pose: SkyPose): number => oddsNeeded(pose.pose, pose.sky, task.hints);
  return yield* accepted(task, searchSky(spots, catalogue, sky, hints, parts), needed, finish);
}

/**
 * The first pose that is accepted, finished; the likeliest of the others is noted.
 *
 * @param needed logarithm of the odds that a pose must reach
 */
function* accepted<P extends JudgedPose>(
  task: Task, poses: Generator<P | null>, needed: (pose: P) => number, finish: (pose: P, lacking: number) => Recognised | null,
): Generator<null, Recognised | null> {
  for (const pose of poses) {
    if (!pose) {
      yield null;
      continue;
    }
    const lacking = needed(pose) - pose.logOdds;
    if (lacking <= 0) return finish(pose, 0);
    if (lacking < (task.likeliest?.lacking ?? MOST_LACKING)) task.likeliest = { lacking, finish: () => finish(pose, lacking) };
  }
  return null;
}

function oddsNeeded(pose: Rotation, sky: LocalSky, { turnedFrom, lacking = 0 }: PlaceHints): number {
  return (turnedFrom ? oddsAfterTurn(toIcrs(sky, pose), turnedFrom) : Math.log(ACCEPTED_ODDS)) + lacking;
}
