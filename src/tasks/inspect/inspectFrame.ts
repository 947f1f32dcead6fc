import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { checkClock } from '../../axis/clockChecks.js';
import type { Warning } from '../../axis/warning.js';
import { type Pace, WITHOUT_REST } from '../../numeric/steps.js';
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import { focalHint } from '../given/focalHint.js';
import type { GivenValues } from '../given/given.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';
import { type FrameResult, type FrameStars, type FrameTrouble, clockCorrected } from '../recognise/frameStars.js';
import { identifySteps } from '../recognise/identifyFrames.js';
import { type KnownFrame, makeReference, startRecognition } from '../recognise/recognition.js';
import { timedFrame } from '../recognise/timedFrame.js';
import { timeWarnings } from '../recognise/timesGiven.js';

/** What one frame shows, and what is missing. */
export interface Inspected {
  readonly frame: FrameStars;
  /** With its stars recognised; null where they could not be. */
  readonly known: KnownFrame | null;
  /** The time for which the stars were placed where the frame gives none; null where it does. */
  readonly assumedTime: Date | null;
  readonly site: SiteInForce | null;
  readonly focal: Sourced<number> | null;
  /** Why something is missing: the time, the stars, a latitude of the right sign. */
  readonly hindrances: readonly FrameTrouble[];
  readonly warnings: readonly Warning[];
}

/**
 * All that one frame shows. Without a time its stars are placed for the date of its clock, whatever the zone, or for today; they are
 * recognised all the same.
 *
 * @throws PolewardError where the file can't be read
 */
export async function inspectFrame(
  found: FrameResult, given: GivenValues, catalogue: StarCatalogue, today: Date, pace: Pace = WITHOUT_REST,
): Promise<Inspected> {
  if (!('stars' in found)) throw new PolewardError(found.code, found.message, { remedies: found.remedies ?? [] });
  const frame = clockCorrected(found, given);
  const site = siteInForce(given, [frame]);
  const look = async (one: FrameStars, at: SiteInForce | null): Promise<KnownFrame | FrameTrouble> => {
    try {
      const steps = identifySteps([one], makeReference(at?.site ?? null, given, catalogue), startRecognition());
      const { outcomes: [outcome] } = await pace(steps);
      return outcome!.known ?? outcome!.trouble;
    } catch (error) {
      if (!(error instanceof PolewardError)) throw error;
      return { file: one.file, code: error.code, message: error.message, remedies: error.remedies };
    }
  };
  const tries = [await look(frame, site)];
  const { metadata } = frame;
  const assumedTime = metadata.midExposure ? null : new Date(metadata.unzonedClock?.value ?? today.getTime());
  // Neither a wrong latitude nor a missing time hides the stars.
  if (assumedTime) {
    tries.push(await look({ ...frame, metadata: { ...metadata, midExposure: { value: assumedTime, from: 'assumed' } } }, null));
  } else if (!isKnown(tries[0]!) && site && tries[0]!.code === 'bad-option') tries.push(await look(frame, null));
  const known = tries.find(isKnown) ?? null;
  return {
    frame, known, assumedTime, site, focal: focalHint(given, frame),
    hindrances: tries.filter((one): one is FrameTrouble => !isKnown(one)),
    warnings: known && !assumedTime ? [...checkClock([timedFrame(known, site)], today), ...timeWarnings([frame])] : timeWarnings([frame]),
  };
}

function isKnown(one: KnownFrame | FrameTrouble): one is KnownFrame {
  return 'identification' in one;
}
