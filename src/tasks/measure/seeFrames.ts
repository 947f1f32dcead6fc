import type { SessionSite } from '../../night/record/entry.js';
import { PolewardError } from '../../error.js';
import { type Pace, WITHOUT_REST } from '../../numeric/steps.js';
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import type { Hemisphere } from '../../sky/localSky.js';
import type { Site } from '../../sky/site.js';
import { type SiteInForce, siteWithAzimuth } from '../given/siteInForce.js';
import { latitudeSources } from '../given/placeWarnings.js';
import type { SeeRequest } from './seeRequest.js';
import { type FrameResult, type Progress, type StarsComing, clockCorrected } from '../recognise/frameStars.js';
import { type FrameOutcome, GLANCES, identifySteps } from '../recognise/identifyFrames.js';
import {
  type KnownCamera, type KnownFrame, type Recognition, type Reference, glanceSteps, makeReference, startRecognition,
} from '../recognise/recognition.js';

/** Frames that were looked at: recognised, or why not. */
export interface SeenFrames {
  readonly outcomes: readonly FrameOutcome[];
  /** Those that were recognised, in the order given. */
  readonly known: readonly KnownFrame[];
  readonly site: SiteInForce | null;
  /** The place of the night that the frames are added to; null where there is none. */
  readonly sessionSite?: SessionSite | null;
}

/** What a night knows before frames are added to it. */
export interface KnownBefore {
  readonly site: SessionSite | null;
  readonly camera: KnownCamera | null;
}

export const NOTHING_KNOWN: KnownBefore = { site: null, camera: null };

/** Recognises `count` frames as their stars come. Throws PolewardError where they show the other hemisphere's pole. */
export async function seeFrames(
  stars: StarsComing, count: number, request: SeeRequest, catalogue: StarCatalogue, progress: Progress, before: KnownBefore = NOTHING_KNOWN,
  pace: Pace = WITHOUT_REST,
): Promise<SeenFrames> {
  let early: Promise<EarlyStart | null> = Promise.resolve(null);
  const corrected = new Map<FrameResult, FrameResult>();
  const correct = (result: FrameResult): FrameResult => {
    const done = corrected.get(result) ?? clockCorrected(result, request);
    corrected.set(result, done);
    return done;
  };
  let done = 0;
  const found = await stars.each((result) => {
    early = early.then(async (begun) => {
      const next = await recogniseEarly(begun, correct(result), request, catalogue, before, pace);
      progress('frames read and recognised', ++done, count);
      return next;
    });
    // The failure is handled below; until then it must not end the process.
    early.catch(() => {});
  });
  const begun = await early;
  const results = found.map(correct);
  const site = siteWithAzimuth(request, results.filter((r) => 'stars' in r), before.site);
  const { reference, recognition } = continued(begun, site?.site ?? null, request, catalogue, before);
  try {
    const { outcomes } = await pace(identifySteps(results, reference, recognition));
    return { ...seen(outcomes, site), sessionSite: before.site };
  } catch (error) {
    throw withSources(error, latitudeSources(request, results.filter((r) => 'stars' in r), before.site));
  }
}

/** The refusal of frames that show the other pole, with each source's latitude. */
function withSources(error: unknown, sources: string): unknown {
  if (!(error instanceof PolewardError) || sources === '' || !error.remedies.includes('give-latitude')) return error;
  return new PolewardError(error.code, error.message.replace(' Check the sign', ` It is ${sources}. Check the sign`), error);
}

/** Frames whose outcome is known, as a whole. */
export function seen(outcomes: readonly FrameOutcome[], site: SiteInForce | null): SeenFrames {
  return { outcomes, site, known: outcomes.flatMap((o) => (o.known ? [o.known] : [])) };
}

/** The pole toward which recognised frames look. */
export function hemisphereSeen({ known }: SeenFrames): Hemisphere {
  return known[0]?.hemisphere ?? 1;
}

/** Frames recognised while the stars of others were still being looked for. */
interface EarlyStart {
  readonly reference: Reference;
  readonly recognition: Recognition;
}

/** Recognises a frame that is ready. Errors are reported later, when all frames are known. */
async function recogniseEarly(
  begun: EarlyStart | null, frame: FrameResult, request: SeeRequest, catalogue: StarCatalogue, before: KnownBefore, pace: Pace,
): Promise<EarlyStart> {
  const { reference, recognition } = begun ?? {
    reference: makeReference('stars' in frame ? siteWithAzimuth(request, [frame], before.site)?.site ?? null : null, request, catalogue),
    recognition: startRecognition(before.camera),
  };
  const useful = 'stars' in frame && frame.metadata.midExposure !== null
    && (recognition.camera !== null || recognition.glanced.size < GLANCES)
    // One of another size will be left out.
    && [...recognition.known.keys()].every(({ width, height }) => frame.width === width && frame.height === height);
  return { reference, recognition: useful ? await pace(glanceSteps(reference, recognition, frame)) : recognition };
}

/** Early results are used only if the site did not change afterwards. */
function continued(
  early: EarlyStart | null, site: Site | null, request: SeeRequest, catalogue: StarCatalogue, { camera }: KnownBefore,
): EarlyStart {
  const same = early !== null && JSON.stringify(early.reference.site) === JSON.stringify(site);
  return same ? early : { reference: makeReference(site, request, catalogue), recognition: startRecognition(camera) };
}
