import { PolewardError } from '../../error.js';
import type { AxisResult } from '../../axis/axisResult.js';
import { measureAxis } from '../../axis/measureAxis.js';
import { checkClock } from '../../axis/clockChecks.js';
import { altitudeOfPole, checkMeasurement } from '../../axis/measurementChecks.js';
import type { Warning } from '../../axis/warning.js';
import { stateOfView } from '../../night/record/axisState.js';
import type { AxisState } from '../../night/record/entry.js';
import type { CommonOptions } from '../../cli/commonOptions.js';
import { type InForce, clockCorrected } from '../given/inForce.js';
import { embeddedCatalogue } from '../../node/embeddedCatalogue.js';
import { type FrameOutcome, identifyFrames } from '../recognise/identifyFrames.js';
import { progress } from '../../cli/progress.js';
import { type KnownFrame, type Recognition, focalHint, recognise, startRecognition } from '../recognise/recognition.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';
import { pictureWarnings } from '../recognise/pictureWarnings.js';
import type { FrameResult } from '../recognise/starsOfFrame.js';
import type { StarsComing } from '../../node/starsOfFrames.js';
import { timedFrame } from '../recognise/timedFrame.js';
import { tooFew } from '../recognise/tooFew.js';

/** A measurement with all that is shown beside it. */
export interface Measured {
  readonly how: 'rotation' | 'recheck';
  readonly measurement: AxisResult;
  /** What a later recheck needs. */
  readonly state: AxisState;
  readonly site: SiteInForce | null;
  readonly outcomes: readonly FrameOutcome[];
  /** The known frames, in the order of `measurement.frames`. */
  readonly known: readonly KnownFrame[];
  readonly warnings: readonly Warning[];
}

/**
 * From the stars of `frames` frames, two or more, to the axis: recognises them as they come, and measures. `given`: how many the
 * person gave, where these are a part of them. Throws PolewardError where two frames don't remain.
 */
export async function measureFrames(stars: StarsComing, frames: number, options: CommonOptions & Partial<InForce>, given = frames): Promise<Measured> {
  let early: Recognition | null = null;
  const corrected = new Map<FrameResult, FrameResult>();
  const correct = (result: FrameResult): FrameResult => {
    const done = corrected.get(result) ?? clockCorrected(result, options);
    corrected.set(result, done);
    return done;
  };
  let done = 0;
  const found = await stars.each((result) => {
    early = recogniseEarly(early, correct(result), options);
    progress('frames read and recognised', ++done, frames);
  });
  const results = found.map(correct);
  const site = siteInForce(options, results.filter((r) => 'stars' in r));
  const outcomes = identifyFrames(results, continued(early, site, options));
  const measured = measureKnown(outcomes, site, options);
  return given === frames ? measured : { ...measured, warnings: [...measured.warnings, {
    code: 'frame-skipped',
    message: `Of the ${given} frames given ${frames} were used, spread evenly over them: more hardly make the answer surer. Give fewer to choose them yourself.`,
  }] };
}

/** The axis from frames already recognised. */
export function measureKnown(outcomes: readonly FrameOutcome[], site: SiteInForce | null, options: CommonOptions): Measured {
  const known = outcomes.flatMap((o) => (o.known ? [o.known] : []));
  const troubles = outcomes.flatMap((o) => (o.trouble ? [o.trouble] : []));
  if (known.length < 2) throw tooFew(known.length, troubles);
  const measurement = measureAxis(known.map(({ frame, sky, identification }) => ({
    identification, sky, width: frame.width, height: frame.height,
  })), options.aim);
  const warnings: Warning[] = [
    ...checkMeasurement(measurement, known.map(({ frame, identification }) => ({
      file: frame.file, identified: identification.stars.length, saidFocalPixels: focalHint(options, frame)?.value ?? null,
    })), site && altitudeOfPole(measurement)),
    ...checkClock(known.map((frame) => timedFrame(frame, site))),
    ...pictureWarnings(known.map(({ frame }) => frame)),
    ...troubles.map((t): Warning => ({ code: 'frame-skipped', message: `Left out: ${t.message}` })),
  ];
  if (!site) {
    warnings.push({
      code: 'no-site',
      message: 'Without the site there is no altitude or azimuth, only the distance from the pole. Give --latitude and --longitude to learn which knob to turn.',
    });
  }
  return { how: 'rotation', measurement, state: stateOfView(measurement.view, options.aim), site, outcomes, known, warnings };
}

/**
 * Uses the time in which other threads still look for stars: recognises a frame that is ready. Trouble waits for its turn,
 * when all frames are known.
 */
function recogniseEarly(begun: Recognition | null, frame: FrameResult, options: CommonOptions & Partial<InForce>): Recognition {
  const recognition = begun
    ?? startRecognition('stars' in frame ? siteInForce(options, [frame])?.site ?? null : null, options, embeddedCatalogue());
  try {
    if ('stars' in frame && frame.metadata.midExposure) recognise(recognition, frame);
  } catch (error) {
    if (!(error instanceof PolewardError)) throw error;
  }
  return recognition;
}

/** What was recognised early holds only if the site it was done with is the site. */
function continued(early: Recognition | null, site: SiteInForce | null, options: CommonOptions): Recognition {
  const same = early !== null && JSON.stringify(early.site) === JSON.stringify(site?.site ?? null);
  return same ? early! : startRecognition(site?.site ?? null, options, embeddedCatalogue());
}
