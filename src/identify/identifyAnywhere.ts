import { DEGREE } from '../geometry/angle.js';
import { type Vector, angleBetween } from '../geometry/vector.js';
import type { SkyCatalogue } from '../sky/catalogueSky.js';
import { type Hemisphere, type LocalSky, makeLocalSky } from '../sky/localSky.js';
import type { DetectedStar } from '../stars/star.js';
import { type Identification, finishedIdentification } from './identifyFrame.js';
import type { JudgedPose } from './judgePose.js';
import { type Effort, type SearchMemory, isAccepted, searchPoses } from './searchPose.js';
import { type SkyIndexes, type SkyPart, partsFrom, searchSky, starsToMatch } from './searchSky.js';
import { type Spots, makeSpots } from './spots.js';
import { type CapStars, HINT_REACH, type StarCap, hemisphereStars, regionStars, starCap } from './starCap.js';
import type { SearchHints } from './trials.js';

/** What is known beforehand, besides the lens. Nothing here is needed, and what is wrong costs time only. */
export interface PlaceHints extends SearchHints {
  /** Where the frame is said to look (ICRS): believed within 15°, never decisive. */
  readonly place?: Vector;
}

/** What one recognised frame leaves for the next. */
export interface SkyMemory {
  readonly halves: Map<Hemisphere, { readonly stars: CapStars; readonly memory: SearchMemory }>;
  /** Those of the whole sky for wide fields. */
  readonly indexes: SkyIndexes;
  /** The stars around the place that was hinted at last. */
  region: { readonly place: Vector; readonly stars: CapStars; readonly memory: SearchMemory } | null;
}

export function emptySkyMemory(): SkyMemory {
  return { halves: new Map(), indexes: new Map(), region: null };
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
}

/** A hinted place this near to a pole is the pole. */
const AT_POLE = 6 * DEGREE;
/** Another hint this near to the one before is served by its stars. */
const SAME_PLACE = 2 * DEGREE;
/** Stars around a hinted place: all to V 11 within this, the brighter ones farther out, for wide fields. */
const DEEP = 22 * DEGREE;
const REGION = 55 * DEGREE;
const BRIGHT = 8.5;

/**
 * Recognises the stars of a frame wherever it looks, by what is trusted most first: near a pole, near the hinted place,
 * above the horizon, anywhere. Field widths 1° to 60°, near the poles and near a hinted place narrower ones too. Works in
 * steps: it yields every few milliseconds, so that whoever runs it may do something else, or leave it. Null if nothing
 * reaches the accepted odds against chance over all that is searched.
 *
 * @param detections brightest first
 * @param sky at the frame's time, with or without a site
 * @param memory from an earlier frame of the same set, or a new one
 */
export function* identifyAnywhere(
  detections: readonly DetectedStar[], width: number, height: number, catalogue: SkyCatalogue, sky: LocalSky,
  hints: PlaceHints, memory: SkyMemory,
): Generator<null, Recognised | null> {
  const spots = makeSpots(detections, width, height);
  if (spots.count < 4) return null;
  const task: Task = { detections, spots, catalogue, sky, hints, memory };
  for (const step of stepsFor(task)) {
    const found = yield* step();
    if (found) return found;
  }
  return null;
}

interface Task {
  readonly detections: readonly DetectedStar[];
  readonly spots: Spots;
  readonly catalogue: SkyCatalogue;
  readonly sky: LocalSky;
  readonly hints: PlaceHints;
  readonly memory: SkyMemory;
}

type Step = () => Generator<null, Recognised | null>;

/** What is tried, one after the other. */
function stepsFor(task: Task): Step[] {
  const { hints, sky } = task;
  const { place, ...others } = hints;
  const scaleKnown = hints.lens !== undefined || hints.focalPixels !== undefined;
  const atPole = place !== undefined && polesAt(place, AT_POLE);
  const away = place !== undefined && !atPole ? place : null;
  const own: Hemisphere = atPole || (sky.site !== null && sky.site.latitude < 0 ? -1 : 1);
  const other: Hemisphere = own === 1 ? -1 : 1;
  // One pole is likelier than all else where a site or a hint names it.
  const named = away === null && (atPole !== false || sky.site !== null);
  const pole = (hemisphere: Hemisphere, ask: SearchHints, effort: Effort): Step => () => nearPole(task, hemisphere, ask, effort);
  const steps: Step[] = [];
  if (scaleKnown) {
    const only = { ...others, only: true };
    if (away) steps.push(() => nearPlace(task, away, only));
    steps.push(pole(own, only, 'all'), pole(other, only, 'all'), () => anywhere(task, only, partsFrom(zenith(sky))));
    // A lens that another frame settled is no longer in doubt.
    if (hints.lens || hints.only) return steps;
  }
  if (away) steps.push(() => anywhere(task, {}, [{ around: away, from: 0, to: HINT_REACH }]));
  const everywhere = partsFrom(zenith(sky));
  const narrow: SearchHints = { fields: 'narrow' };
  // Wide fields are found with the whole sky in no time: only a pole that something names is searched for them, too.
  const atOwn: SearchHints = named ? {} : narrow;
  const rest: Step[] = [() => anywhere(task, narrow, everywhere), pole(other, narrow, named ? 'all' : 'later')];
  const wide: Step = () => anywhere(task, { fields: 'wide' }, everywhere);
  if (named) steps.push(pole(own, atOwn, 'first'), wide, pole(own, atOwn, 'later'), ...rest);
  else steps.push(wide, pole(own, atOwn, 'first'), pole(other, narrow, 'first'), ...rest, pole(own, atOwn, 'later'));
  return steps;
}

function polesAt(place: Vector, within: number): Hemisphere | false {
  if (angleBetween(place, [0, 0, 1]) < within) return 1;
  return angleBetween(place, [0, 0, -1]) < within ? -1 : false;
}

/** ICRS direction of what is overhead; without a site that of the celestial pole. */
function zenith(sky: LocalSky): Vector {
  return sky.fromLocal([0, 0, 1]);
}

function* nearPole(task: Task, hemisphere: Hemisphere, hints: SearchHints, effort: Effort): Generator<null, Recognised | null> {
  const { halves } = task.memory;
  let half = halves.get(hemisphere);
  if (!half) halves.set(hemisphere, (half = { stars: hemisphereStars(task.catalogue.near, hemisphere), memory: new Map() }));
  // The pole of the other hemisphere is below the horizon.
  const { site } = task.sky;
  const sky = site === null || (site.latitude >= 0 ? 1 : -1) === hemisphere ? task.sky : makeLocalSky(task.sky.time, null);
  return yield* inCap(task, starCap(half.stars, sky), sky, hints, half.memory, effort, 'pole');
}

function* nearPlace(task: Task, place: Vector, hints: SearchHints): Generator<null, Recognised | null> {
  const { memory, catalogue, sky } = task;
  if (!memory.region || angleBetween(memory.region.place, place) > SAME_PLACE) {
    const stars = regionStars(catalogue, place, REGION, (distance) => (distance < DEEP ? Infinity : BRIGHT), sky.time);
    memory.region = { place, stars, memory: new Map() };
  }
  const { region } = memory;
  const there = sky.site === null || sky.toLocal(place)[2] > 0 ? sky : makeLocalSky(sky.time, null);
  return yield* inCap(task, starCap(region.stars, there), there, hints, region.memory, 'all', 'place');
}

function* inCap(
  { detections, spots }: Task, cap: StarCap, sky: LocalSky, hints: SearchHints, memory: SearchMemory, effort: Effort,
  by: Recognised['by'],
): Generator<null, Recognised | null> {
  const found = yield* accepted(searchPoses(spots, cap, hints, memory, effort));
  const identification = found && finishedIdentification(detections, spots.width, spots.height, cap, found);
  return identification && { identification, sky, by };
}

function* anywhere(task: Task, hints: SearchHints, parts: readonly SkyPart[]): Generator<null, Recognised | null> {
  const { detections, spots, catalogue, sky, memory } = task;
  const found = yield* accepted(searchSky(spots, catalogue, sky, hints, parts, memory.indexes));
  if (!found) return null;
  const identification = finishedIdentification(detections, spots.width, spots.height, starsToMatch(catalogue, found, spots), found);
  return identification && { identification, sky: found.sky, by: 'sky' };
}

/** The first pose that is accepted. */
function* accepted<P extends JudgedPose>(poses: Generator<P | null>): Generator<null, P | null> {
  for (const pose of poses) {
    if (!pose) yield null;
    else if (isAccepted(pose)) return pose;
  }
  return null;
}

/** Runs what works in steps to its end. */
export function atOnce<T>(steps: Generator<null, T>): T {
  let step = steps.next();
  while (!step.done) step = steps.next();
  return step.value;
}
