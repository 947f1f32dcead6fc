import { PolewardError } from '../error.js';
import type { Sourced } from '../frames/frame.js';
import { identifyFrame, type Identification } from '../identify/identifyFrame.js';
import type { Lens } from '../identify/lens.js';
import type { SearchHints, SearchMemory } from '../identify/searchPose.js';
import { type HemisphereStars, hemisphereStars, starCap } from '../identify/starCap.js';
import type { Catalogue } from '../sky/catalogue.js';
import { type Hemisphere, type LocalSky, makeLocalSky } from '../sky/localSky.js';
import type { Site } from '../sky/site.js';
import type { CommonOptions } from './commonOptions.js';
import type { FrameResult, FrameStars, FrameTrouble } from './starsOfFrame.js';

/** A frame whose stars are known by name. */
export interface KnownFrame {
  readonly frame: FrameStars;
  readonly sky: LocalSky;
  readonly hemisphere: Hemisphere;
  readonly identification: Identification;
}

/** A frame in the order given: known, or in trouble. */
export type FrameOutcome = { readonly known: KnownFrame; readonly trouble?: never } | { readonly known?: never; readonly trouble: FrameTrouble; readonly frame: FrameStars | null };

/** Fewer stars than this can't reach the odds against chance. */
const FEWEST_STARS = 4;

/** Focal length in pixels from the command line or a frame's header, where both lengths are known. */
export function focalHint(options: CommonOptions, frame: FrameStars): Sourced<number> | null {
  const focal = options.focalLength ?? frame.metadata.focalLengthMillimetres?.value;
  const pixel = options.pixelSize ?? frame.metadata.pixelSizeMicrometres?.value;
  if (focal === undefined || pixel === undefined) return null;
  const said = options.focalLength !== undefined || options.pixelSize !== undefined;
  return { value: (focal * 1000) / pixel, from: said ? 'command line' : 'frame header' };
}

/**
 * Recognises the stars of each frame. Once one is known its lens serves the others; those tried before are tried again with it.
 * Frames of another size than most are set aside, since another size means another camera or binning.
 */
export function identifyFrames(results: readonly FrameResult[], site: Site | null, options: CommonOptions, catalogue: Catalogue): FrameOutcome[] {
  const size = commonSize(results);
  const halves = new Map<Hemisphere, { stars: HemisphereStars; memory: SearchMemory }>();
  const half = (h: Hemisphere): { stars: HemisphereStars; memory: SearchMemory } => {
    const known = halves.get(h) ?? { stars: hemisphereStars(catalogue, h), memory: new Map() };
    halves.set(h, known);
    return known;
  };
  const hemispheres: Hemisphere[] = site === null ? [1, -1] : site.latitude >= 0 ? [1, -1] : [-1, 1];
  let lens: { value: Lens; hemisphere: Hemisphere } | null = null;
  const outcomes = new Array<FrameOutcome>(results.length);
  for (const withLens of [false, true]) {
    if (withLens && !lens) break;
    results.forEach((result, i) => {
      if (outcomes[i]?.known || (withLens && outcomes[i]?.trouble.code !== 'not-identified')) return;
      const trouble = unusable(result, size);
      if (trouble || !('stars' in result)) {
        outcomes[i] = { trouble: trouble ?? (result as FrameTrouble), frame: 'stars' in result ? result : null };
        return;
      }
      const known = identifyOne(result, site, options, lens, hemispheres, half);
      if (known) {
        lens ??= { value: known.identification.lens, hemisphere: known.hemisphere };
        outcomes[i] = { known };
      } else {
        outcomes[i] = { trouble: notIdentified(result), frame: result };
      }
    });
  }
  return outcomes;
}

function identifyOne(
  frame: FrameStars, site: Site | null, options: CommonOptions,
  lens: { value: Lens; hemisphere: Hemisphere } | null, hemispheres: readonly Hemisphere[], half: (h: Hemisphere) => { stars: HemisphereStars; memory: SearchMemory },
): KnownFrame | null {
  const hint = focalHint(options, frame);
  const blind: SearchHints = hint ? { focalPixels: hint.value } : {};
  const time = frame.metadata.midExposure!.value;
  for (const hemisphere of lens ? [lens.hemisphere] : hemispheres) {
    // The pole of the other hemisphere is below the horizon: if its stars are there, the latitude's sign is wrong, not the sky.
    const seen = site === null || Math.sign(site.latitude || 1) === hemisphere ? site : null;
    const sky = makeLocalSky(time, seen);
    const { stars, memory } = half(hemisphere);
    const cap = starCap(stars, sky);
    for (const hints of lens ? [{ lens: lens.value }, blind] : [blind]) {
      const identification = identifyFrame(frame.stars, frame.width, frame.height, cap, hints, memory);
      if (!identification) continue;
      if (site !== null && seen === null) throw wrongHemisphere(frame.file, hemisphere);
      return { frame, sky, hemisphere, identification };
    }
  }
  return null;
}

function wrongHemisphere(file: string, hemisphere: Hemisphere): PolewardError {
  const there = hemisphere === 1 ? 'north' : 'south';
  const given = hemisphere === 1 ? 'south' : 'north';
  return new PolewardError('bad-option',
    `${file} shows the stars of the ${there} celestial pole, but the latitude given is ${given}. Check the sign of the latitude.`);
}

/** Why a frame can't be used before its stars are looked up; null if it can. */
function unusable(result: FrameResult, size: { width: number; height: number } | null): FrameTrouble | null {
  if (!('stars' in result)) return result;
  const { file } = result;
  if (size && (result.width !== size.width || result.height !== size.height)) {
    return { file, code: 'size-differs', message: `${file} is ${result.width}x${result.height} pixels, the others ${size.width}x${size.height}. Use frames of one camera with one binning.` };
  }
  if (!result.metadata.midExposure) {
    const why = result.metadata.remarks.join(' ');
    return { file, code: 'no-time', message: `${file} does not say when it was taken, and without the time the sky's own motion can't be told from the mount's.${why ? ` ${why}` : ''} Save frames with the time in their header.` };
  }
  if (result.stars.length < FEWEST_STARS) {
    const count = result.stars.length === 0 ? 'no stars' : result.stars.length === 1 ? 'one star' : `${result.stars.length} stars`;
    return { file, code: 'no-stars', message: `${file} shows ${count}. Check focus, lens cap and clouds, or expose longer.` };
  }
  return null;
}

function notIdentified(frame: FrameStars): FrameTrouble {
  return {
    file: frame.file, code: 'not-identified',
    message: `${frame.file} has ${frame.stars.length} stars, but none of them were recognised as stars near a celestial pole. Point the camera within some degrees of the pole; if it is, expose longer or wait for clouds to pass.`,
  };
}

/** The size most frames have (the first of those that tie); null if none was read. */
function commonSize(results: readonly FrameResult[]): { width: number; height: number } | null {
  const counts = new Map<string, { width: number; height: number; count: number }>();
  for (const r of results) {
    if (!('stars' in r)) continue;
    const key = `${r.width}x${r.height}`;
    const entry = counts.get(key) ?? { width: r.width, height: r.height, count: 0 };
    entry.count++;
    counts.set(key, entry);
  }
  let best: { width: number; height: number; count: number } | null = null;
  for (const entry of counts.values()) if (!best || entry.count > best.count) best = entry;
  return best;
}
