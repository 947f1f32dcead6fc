import { PolewardError } from '../error.js';
import type { Sourced } from '../frames/frame.js';
import { identifyFrame, type Identification } from '../identify/identifyFrame.js';
import type { Lens } from '../identify/lens.js';
import type { SearchHints, SearchMemory } from '../identify/searchPose.js';
import { type CapStars, hemisphereStars, starCap } from '../identify/starCap.js';
import type { Catalogue } from '../sky/catalogue.js';
import { type Hemisphere, type LocalSky, makeLocalSky } from '../sky/localSky.js';
import type { Site } from '../sky/site.js';
import type { CommonOptions } from './commonOptions.js';
import type { FrameStars } from './starsOfFrame.js';

/** A frame whose stars are known by name. */
export interface KnownFrame {
  readonly frame: FrameStars;
  readonly sky: LocalSky;
  readonly hemisphere: Hemisphere;
  readonly identification: Identification;
}

/** What recognising one frame leaves behind for the next: the camera's lens above all. */
export interface Recognition {
  readonly site: Site | null;
  readonly options: CommonOptions;
  readonly catalogue: Catalogue;
  readonly halves: Map<Hemisphere, { readonly stars: CapStars; readonly memory: SearchMemory }>;
  readonly known: WeakMap<FrameStars, KnownFrame>;
  /** Frames that were searched without a lens to go by and not recognised. */
  readonly searched: WeakSet<FrameStars>;
  lens: { readonly value: Lens; readonly hemisphere: Hemisphere } | null;
  /** What is wrong with all frames alike: whoever asks again is told again. */
  refusal: PolewardError | null;
}

/** A fresh start; with a lens known from before (an earlier measurement) only that is tried first. */
export function startRecognition(
  site: Site | null, options: CommonOptions, catalogue: Catalogue, lens: Recognition['lens'] = null,
): Recognition {
  return { site, options, catalogue, halves: new Map(), known: new WeakMap(), searched: new WeakSet(), lens, refusal: null };
}

/** Focal length in pixels from the command line or a frame's header, where both lengths are known. */
export function focalHint(options: CommonOptions, frame: FrameStars): Sourced<number> | null {
  const focal = options.focalLength ?? frame.metadata.focalLengthMillimetres?.value;
  const pixel = options.pixelSize ?? frame.metadata.pixelSizeMicrometres?.value;
  if (focal === undefined || pixel === undefined) return null;
  const said = options.focalLength !== undefined || options.pixelSize !== undefined;
  return { value: (focal * 1000) / pixel, from: said ? 'command line' : 'frame header' };
}

/** Recognises the stars of one frame that has a time and some stars; null if it can't. What was known already is not done again. */
export function recognise(recognition: Recognition, frame: FrameStars): KnownFrame | null {
  const done = recognition.known.get(frame);
  if (done) return done;
  if (recognition.refusal) throw recognition.refusal;
  const { lens, site } = recognition;
  if (!lens && recognition.searched.has(frame)) return null;
  const known = lens ? identifyAt(recognition, frame, lens.hemisphere, [{ lens: lens.value }]) ?? searchWide(recognition, frame) : searchWide(recognition, frame);
  if (!known) return null;
  if (site !== null && !belongs(site, known.hemisphere)) {
    recognition.refusal = wrongHemisphere(frame.file, known.hemisphere);
    throw recognition.refusal;
  }
  recognition.lens ??= { value: known.identification.lens, hemisphere: known.hemisphere };
  recognition.known.set(frame, known);
  return known;
}

/** Looks for the frame with the scale its header says, or any; once. */
function searchWide(recognition: Recognition, frame: FrameStars): KnownFrame | null {
  if (recognition.searched.has(frame)) return null;
  recognition.searched.add(frame);
  const hint = focalHint(recognition.options, frame);
  const hints: SearchHints = hint ? { focalPixels: hint.value } : {};
  const south = recognition.site !== null && recognition.site.latitude < 0;
  const hemispheres: Hemisphere[] = recognition.lens ? [recognition.lens.hemisphere] : south ? [-1, 1] : [1, -1];
  for (const hemisphere of hemispheres) {
    const known = identifyAt(recognition, frame, hemisphere, [hints]);
    if (known) return known;
  }
  return null;
}

function identifyAt(recognition: Recognition, frame: FrameStars, hemisphere: Hemisphere, tries: readonly SearchHints[]): KnownFrame | null {
  const { site, catalogue, halves } = recognition;
  let half = halves.get(hemisphere);
  if (!half) halves.set(hemisphere, (half = { stars: hemisphereStars(catalogue, hemisphere), memory: new Map() }));
  // The pole of the other hemisphere is below the horizon: if its stars are there, the latitude's sign is wrong, not the sky.
  const sky = makeLocalSky(frame.metadata.midExposure!.value, site !== null && belongs(site, hemisphere) ? site : null);
  const cap = starCap(half.stars, sky);
  for (const hints of tries) {
    const identification = identifyFrame(frame.stars, frame.width, frame.height, cap, hints, half.memory);
    if (identification) return { frame, sky, hemisphere, identification };
  }
  return null;
}

function belongs(site: Site, hemisphere: Hemisphere): boolean {
  return (site.latitude >= 0 ? 1 : -1) === hemisphere;
}

function wrongHemisphere(file: string, hemisphere: Hemisphere): PolewardError {
  const there = hemisphere === 1 ? 'north' : 'south';
  const given = hemisphere === 1 ? 'south' : 'north';
  return new PolewardError('bad-option',
    `${file} shows the stars of the ${there} celestial pole, but the latitude given is ${given}. Check the sign of the latitude.`);
}
