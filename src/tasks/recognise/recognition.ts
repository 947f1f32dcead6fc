import { PolewardError } from '../../error.js';
import { DEGREE } from '../../geometry/angle.js';
import type { Rotation } from '../../geometry/rotation.js';
import { type Vector, angleBetween } from '../../geometry/vector.js';
import {
  type PlaceHints, type Recognised, type SkyMemory, emptySkyMemory, identifyAnywhere,
} from '../../identify/identifyAnywhere.js';
import { toIcrs } from '../../identify/icrsPose.js';
import type { Identification } from '../../identify/identifyFrame.js';
import type { Lens } from '../../identify/lens.js';
import { atOnce } from '../../numeric/steps.js';
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import { type Hemisphere, type LocalSky, makeLocalSky } from '../../sky/localSky.js';
import type { Site } from '../../sky/site.js';
import { focalHint } from '../given/focalHint.js';
import type { GivenValues } from '../given/given.js';
import { placeHint } from '../given/placeHint.js';
import type { FrameStars } from './frameStars.js';

/** A frame whose stars are known by name. */
export interface KnownFrame {
  readonly frame: FrameStars;
  readonly sky: LocalSky;
  /** The pole over the site; without a site the nearer one to where the frame looks. */
  readonly hemisphere: Hemisphere;
  readonly identification: Identification;
}

/** What recognising frames needs: where they were taken, what is known of optics and place, and the stars. */
export interface Reference {
  readonly site: Site | null;
  readonly given: RecognitionGiven;
  readonly catalogue: StarCatalogue;
  /** The stars and indexes that searches have prepared. */
  readonly memory: SkyMemory;
}

/** What a person or rig file gives that helps to recognise a frame. */
export type RecognitionGiven = Pick<GivenValues, 'focalLengthMillimetres' | 'pixelSizeMicrometres' | 'near'>;

/** The lens of the camera, and where it looked last. */
export interface KnownCamera {
  readonly lens: Lens;
  readonly hemisphere: Hemisphere;
  /** ICRS; absent where that was near the pole. */
  readonly place?: Vector;
  /** Its pose then (camera to ICRS), where it looked away from the pole. */
  readonly pose?: Rotation;
}

/** What recognising frames has shown so far. It is passed on to the next call. */
export interface Recognition {
  readonly camera: KnownCamera | null;
  readonly known: ReadonlyMap<FrameStars, KnownFrame>;
  /** Frames that were searched for and not recognised, with the lens that was known then. */
  readonly searched: ReadonlyMap<FrameStars, Lens | null>;
  /** Frames for which only the quick part of a search was done, without a lens, and in vain. */
  readonly glanced: ReadonlySet<FrameStars>;
  /** The frame that was nearest to being recognised while none is: another may bear it out. */
  readonly supposed: Supposed | null;
  /** What is wrong with all frames in the same way. */
  readonly refusal: PolewardError | null;
}

interface Supposed {
  readonly frame: FrameStars;
  readonly found: Recognised;
}

export function makeReference(site: Site | null, given: RecognitionGiven, catalogue: StarCatalogue): Reference {
  return { site, given, catalogue, memory: emptySkyMemory() };
}

/** A fresh start; a camera known from before (an earlier measurement) is tried first, alone. */
export function startRecognition(camera: KnownCamera | null = null): Recognition {
  return { camera, known: new Map(), searched: new Map(), glanced: new Set(), supposed: null, refusal: null };
}

/**
 * Recognises the stars of one frame that has a time and some stars. Returns what is known after it, with the frame among `known` if it was
 * recognised. Work that was done already is not repeated.
 */
export function recognise(reference: Reference, before: Recognition, frame: FrameStars): Recognition {
  return atOnce(recogniseSteps(reference, before, frame));
}

/** The same in steps: it yields every few milliseconds, so that the caller can do something else in between, or stop. */
export function* recogniseSteps(reference: Reference, before: Recognition, frame: FrameStars): Generator<null, Recognition> {
  return yield* search(reference, before, frame, false);
}

/**
 * The quick part of that where no camera is known yet: not the whole sky, which takes seconds. Another frame may show the camera's lens
 * meanwhile, and this one is found by it.
 */
export function* glanceSteps(reference: Reference, before: Recognition, frame: FrameStars): Generator<null, Recognition> {
  return yield* search(reference, before, frame, before.camera === null);
}

function* search(reference: Reference, before: Recognition, frame: FrameStars, quick: boolean): Generator<null, Recognition> {
  if (before.refusal || before.known.has(frame)) return before;
  const { camera } = before;
  const glanced = camera === null && before.glanced.has(frame);
  if (quick && glanced) return before;
  const again = before.searched.has(frame);
  if (again && isLike(before.searched.get(frame)!, camera?.lens ?? null)) return before;
  const { site, catalogue, memory } = reference;
  const sky = makeLocalSky(frame.metadata.midExposure!.value, site);
  const { supposed } = before;
  if (camera === null && !quick && supposed && supposed.frame !== frame) {
    const hints = turnedFromSupposed(supposed.found);
    const found = yield* identifyAnywhere(frame.stars, frame.width, frame.height, catalogue, sky, hints, memory);
    if (found) return withKnown(reference, withKnown(reference, before, supposed.frame, supposed.found), frame, found);
  }
  const { focalPixels, ...others } = hintsFor(reference, camera, frame);
  const part = quick ? 'quick' : glanced ? 'long' : null;
  const suppose = camera === null;
  const hints: PlaceHints = again ? { ...others, only: true }
    : { ...others, suppose, ...(focalPixels === undefined ? {} : { focalPixels }), ...(part ? { part } : {}) };
  const found = yield* identifyAnywhere(frame.stars, frame.width, frame.height, catalogue, sky, hints, memory);
  if (found?.lacking === 0) return withKnown(reference, before, frame, found);
  const likelier = found !== null && found.lacking < (supposed?.found.lacking ?? Infinity);
  const after = likelier ? { ...before, supposed: { frame, found } } : before;
  if (quick) return { ...after, glanced: new Set(before.glanced).add(frame) };
  return { ...after, searched: new Map(before.searched).set(frame, camera?.lens ?? null) };
}

/**
 * Two frames of which neither is recognised alone may be so together: the second must be where a turn in right ascension leads from the
 * likeliest pose of the first, and must show by how much that lacks the odds.
 */
function turnedFromSupposed({ identification: { pose, lens }, sky, lacking }: Recognised): PlaceHints {
  return { lens, turnedFrom: toIcrs(sky, pose), lacking, part: 'turned' };
}

/** Whether another search finds no more than the earlier one did; without a lens there is nothing new to try. */
function isLike(searchedWith: Lens | null, now: Lens | null): boolean {
  if (now === null) return true;
  return searchedWith?.focalPixels === now.focalPixels && searchedWith.mirrored === now.mirrored;
}

/** What helps to find a frame: lens and place of the frame before it, and what the person gave. */
function hintsFor({ site, given }: Reference, camera: KnownCamera | null, frame: FrameStars): PlaceHints {
  const hemisphere = site ? poleOver(site) : camera?.hemisphere ?? 1;
  const focal = focalHint(given, frame);
  const said = placeHint(given.near, frame, hemisphere);
  const last: Vector | null = camera && (camera.place ?? [0, 0, camera.hemisphere]);
  const apart = said && last && angleBetween(said, last) < SAME_PLACE ? null : last;
  const places = [said, apart].filter((place) => place !== null);
  const turnedFrom = camera?.pose;
  return {
    ...(camera ? { lens: camera.lens } : {}), ...(turnedFrom ? { turnedFrom } : {}), ...(focal ? { focalPixels: focal.value } : {}), places,
  };
}

/** Places nearer to each other than this, radians, are the same for a search around them. */
const SAME_PLACE = 8 * DEGREE;

function withKnown({ site }: Reference, before: Recognition, frame: FrameStars, { sky, identification }: Recognised): Recognition {
  const { pose, lens } = identification;
  const toward = sky.fromLocal([pose[2], pose[5], pose[8]]);
  const nearer: Hemisphere = toward[2] >= 0 ? 1 : -1;
  if (site && !sky.site) return { ...before, refusal: hiddenSky(frame.file, site, nearer, toward) };
  const hemisphere = site ? poleOver(site) : nearer;
  const atPole = Math.abs(toward[2]) > Math.cos(AT_POLE);
  const camera = atPole && before.camera && !before.camera.place ? before.camera
    : { lens: before.camera?.lens ?? lens, hemisphere, ...(atPole ? {} : { place: toward, pose: toIcrs(sky, pose) }) };
  return { ...before, camera, known: new Map(before.known).set(frame, { frame, sky, hemisphere, identification }) };
}

/** Frames this near to a pole, radians, are searched for near it. */
const AT_POLE = 12 * DEGREE;
/** Distance from the pole, radians, within which stars are seen from one hemisphere only. */
const NEAR_POLE = 35 * DEGREE;

function poleOver(site: Site): Hemisphere {
  return site.latitude >= 0 ? 1 : -1;
}

/** Why a frame can't show these stars: they are below the site's horizon. */
function hiddenSky(file: string, site: Site, hemisphere: Hemisphere, toward: Vector): PolewardError {
  if (hemisphere !== poleOver(site) && Math.abs(toward[2]) > Math.cos(NEAR_POLE)) {
    const there = hemisphere === 1 ? 'north' : 'south';
    const given = hemisphere === 1 ? 'south' : 'north';
    return new PolewardError('bad-option',
      `${file} shows the stars of the ${there} celestial pole, but the latitude given is ${given}. Check the sign of the latitude.`,
      { remedies: ['give-latitude'] });
  }
  return new PolewardError('bad-option',
    `${file} shows stars that are below the horizon at that time and place. Check the site's latitude and longitude, and the camera's `
      + 'clock and zone.', { remedies: ['give-site', 'give-zone'] });
}
