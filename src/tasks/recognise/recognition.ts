import { PolewardError } from '../../error.js';
import { identifyFrameSteps, type Identification } from '../../identify/identifyFrame.js';
import type { Lens } from '../../identify/lens.js';
import type { SearchHints, SearchMemory } from '../../identify/searchPose.js';
import { type CapStars, hemisphereStars, starCap } from '../../identify/starCap.js';
import { atOnce } from '../../numeric/steps.js';
import type { Catalogue } from '../../sky/catalogue.js';
import { type Hemisphere, type LocalSky, makeLocalSky } from '../../sky/localSky.js';
import type { Site } from '../../sky/site.js';
import { focalHint } from '../given/focalHint.js';
import type { GivenValues } from '../given/given.js';
import type { FrameStars } from './frameStars.js';

/** A frame whose stars are known by name. */
export interface KnownFrame {
  readonly frame: FrameStars;
  readonly sky: LocalSky;
  readonly hemisphere: Hemisphere;
  readonly identification: Identification;
}

/** What frames are recognised by: where they were taken, what is known of the optics, and the stars. */
export interface Reference {
  readonly site: Site | null;
  readonly optics: Pick<GivenValues, 'focalLengthMillimetres' | 'pixelSizeMicrometres'>;
  /** The stars about each pole, and the indexes that searching them has made. Made when they are first asked for. */
  stars(hemisphere: Hemisphere): { readonly stars: CapStars; readonly memory: SearchMemory };
}

/** The lens of the camera, and which pole it saw. */
export interface KnownCamera {
  readonly lens: Lens;
  readonly hemisphere: Hemisphere;
}

/** What recognising frames has shown so far. Whoever goes on from it passes it on. */
export interface Recognition {
  readonly camera: KnownCamera | null;
  readonly known: ReadonlyMap<FrameStars, KnownFrame>;
  /** Frames that were searched without a lens to go by and not recognised. */
  readonly searched: ReadonlySet<FrameStars>;
  /** What is wrong with all frames alike. */
  readonly refusal: PolewardError | null;
}

export function makeReference(site: Site | null, optics: Reference['optics'], catalogue: Catalogue): Reference {
  const halves = new Map<Hemisphere, ReturnType<Reference['stars']>>();
  return {
    site, optics,
    stars(hemisphere) {
      const half = halves.get(hemisphere) ?? { stars: hemisphereStars(catalogue, hemisphere), memory: new Map() };
      halves.set(hemisphere, half);
      return half;
    },
  };
}

/** A fresh start; with a camera known from before (an earlier measurement) only that is tried first. */
export function startRecognition(camera: KnownCamera | null = null): Recognition {
  return { camera, known: new Map(), searched: new Set(), refusal: null };
}

/**
 * Recognises the stars of one frame that has a time and some stars: what is known after it, the frame among `known` if it could be.
 * What was known already is not done again.
 */
export function recognise(reference: Reference, before: Recognition, frame: FrameStars): Recognition {
  return atOnce(recogniseSteps(reference, before, frame));
}

/** The same in steps: it yields every few milliseconds, so that whoever runs it may do something else, or leave it. */
export function* recogniseSteps(reference: Reference, before: Recognition, frame: FrameStars): Generator<null, Recognition> {
  if (before.refusal || before.known.has(frame)) return before;
  const { camera } = before;
  const byLens = camera && (yield* identifyAt(reference, frame, camera.hemisphere, { lens: camera.lens }));
  if (byLens) return withKnown(reference, before, byLens);
  if (before.searched.has(frame)) return before;
  const found = yield* searchWide(reference, camera, frame);
  const after = { ...before, searched: new Set(before.searched).add(frame) };
  return found ? withKnown(reference, after, found) : after;
}

function withKnown({ site }: Reference, before: Recognition, known: KnownFrame): Recognition {
  if (site !== null && !belongs(site, known.hemisphere)) return { ...before, refusal: wrongHemisphere(known.frame.file, known.hemisphere) };
  return {
    ...before,
    camera: before.camera ?? { lens: known.identification.lens, hemisphere: known.hemisphere },
    known: new Map(before.known).set(known.frame, known),
  };
}

/** Looks for the frame with the scale its header says, or any. */
function* searchWide(reference: Reference, camera: KnownCamera | null, frame: FrameStars): Generator<null, KnownFrame | null> {
  const hint = focalHint(reference.optics, frame);
  const hints: SearchHints = hint ? { focalPixels: hint.value } : {};
  const south = reference.site !== null && reference.site.latitude < 0;
  const hemispheres: Hemisphere[] = camera ? [camera.hemisphere] : south ? [-1, 1] : [1, -1];
  for (const hemisphere of hemispheres) {
    const known = yield* identifyAt(reference, frame, hemisphere, hints);
    if (known) return known;
  }
  return null;
}

function* identifyAt(
  { site, stars }: Reference, frame: FrameStars, hemisphere: Hemisphere, hints: SearchHints,
): Generator<null, KnownFrame | null> {
  const half = stars(hemisphere);
  // The pole of the other hemisphere is below the horizon: if its stars are there, the latitude's sign is wrong, not the sky.
  const sky = makeLocalSky(frame.metadata.midExposure!.value, site !== null && belongs(site, hemisphere) ? site : null);
  const identification = yield* identifyFrameSteps(frame.stars, frame.width, frame.height, starCap(half.stars, sky), hints, half.memory);
  return identification && { frame, sky, hemisphere, identification };
}

function belongs(site: Site, hemisphere: Hemisphere): boolean {
  return (site.latitude >= 0 ? 1 : -1) === hemisphere;
}

function wrongHemisphere(file: string, hemisphere: Hemisphere): PolewardError {
  const there = hemisphere === 1 ? 'north' : 'south';
  const given = hemisphere === 1 ? 'south' : 'north';
  return new PolewardError('bad-option',
    `${file} shows the stars of the ${there} celestial pole, but the latitude given is ${given}. Check the sign of the latitude.`,
    { remedies: ['give-latitude'] });
}
