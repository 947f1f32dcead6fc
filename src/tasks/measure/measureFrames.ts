import type { Aim } from '../../axis/aim.js';
import type { AxisResult } from '../../axis/axisResult.js';
import { measureAxis } from '../../axis/measureAxis.js';
import { checkClock } from '../../axis/clockChecks.js';
import { altitudeOfPole, checkMeasurement } from '../../axis/measurementChecks.js';
import type { Warning } from '../../axis/warning.js';
import { stateOfView } from '../../night/record/axisState.js';
import type { AxisState } from '../../night/record/entry.js';
import type { Catalogue } from '../../sky/catalogue.js';
import type { Site } from '../../sky/site.js';
import { focalHint } from '../given/focalHint.js';
import type { GivenValues } from '../given/given.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';
import { type FrameResult, type FrameTrouble, type Progress, type StarsComing, clockCorrected } from '../recognise/frameStars.js';
import { type FrameOutcome, identifyFrames } from '../recognise/identifyFrames.js';
import { pictureWarnings } from '../recognise/pictureWarnings.js';
import { type KnownFrame, type Recognition, type Reference, makeReference, recognise, startRecognition } from '../recognise/recognition.js';
import { timedFrame } from '../recognise/timedFrame.js';
import { tooFew } from '../recognise/tooFew.js';

/** What a measurement goes by beside the frames. */
export interface MeasureRequest extends GivenValues {
  readonly aim: Aim;
}

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
export async function measureFrames(
  stars: StarsComing, frames: number, request: MeasureRequest, catalogue: Catalogue, progress: Progress, given = frames,
): Promise<Measured> {
  let early: EarlyStart | null = null;
  const corrected = new Map<FrameResult, FrameResult>();
  const correct = (result: FrameResult): FrameResult => {
    const done = corrected.get(result) ?? clockCorrected(result, request);
    corrected.set(result, done);
    return done;
  };
  let done = 0;
  const found = await stars.each((result) => {
    early = recogniseEarly(early, correct(result), request, catalogue);
    progress('frames read and recognised', ++done, frames);
  });
  const results = found.map(correct);
  const site = siteInForce(request, results.filter((r) => 'stars' in r));
  const { reference, recognition } = continued(early, site?.site ?? null, request, catalogue);
  const { outcomes } = identifyFrames(results, reference, recognition);
  const measured = measureKnown(outcomes, site, request);
  return given === frames ? measured : { ...measured, warnings: [...measured.warnings, {
    code: 'frame-skipped',
    message: `Of the ${given} frames given ${frames} were used, spread evenly over them: more hardly make the answer surer. Give fewer to choose them yourself.`,
  }] };
}

/** The axis from frames already recognised. */
export function measureKnown(outcomes: readonly FrameOutcome[], site: SiteInForce | null, request: MeasureRequest): Measured {
  const known = outcomes.flatMap((o) => (o.known ? [o.known] : []));
  const troubles = outcomes.flatMap((o) => (o.trouble ? [o.trouble] : []));
  if (known.length < 2) throw tooFew(known.length, troubles);
  const measurement = measureAxis(known.map(({ frame, sky, identification }) => ({
    identification, sky, width: frame.width, height: frame.height,
  })), request.aim);
  const warnings: Warning[] = [
    ...checkMeasurement(measurement, known.map(({ frame, identification }) => ({
      file: frame.file, identified: identification.stars.length, saidFocalPixels: focalHint(request, frame)?.value ?? null,
    })), site && altitudeOfPole(measurement)),
    ...checkClock(known.map((frame) => timedFrame(frame, site))),
    ...pictureWarnings(known.map(({ frame }) => frame)),
    ...troubles.map(leftOut),
  ];
  if (!site) {
    warnings.push({
      code: 'no-site',
      message: 'Without the site there is no altitude or azimuth, only the distance from the pole. Give latitude and longitude to learn which knob to turn.',
      remedies: ['give-site'],
    });
  }
  return { how: 'rotation', measurement, state: stateOfView(measurement.view, request.aim), site, outcomes, known, warnings };
}

/** A frame that was left out, as a warning beside the answer of the others. */
export function leftOut({ message, remedies }: FrameTrouble): Warning {
  return { code: 'frame-skipped', message: `Left out: ${message}`, ...(remedies ? { remedies } : {}) };
}

/** What was recognised while stars of other frames were still being looked for. */
interface EarlyStart {
  readonly reference: Reference;
  readonly recognition: Recognition;
}

/** Recognises a frame that is ready. Trouble waits for its turn, when all frames are known. */
function recogniseEarly(begun: EarlyStart | null, frame: FrameResult, request: MeasureRequest, catalogue: Catalogue): EarlyStart {
  const { reference, recognition } = begun ?? {
    reference: makeReference('stars' in frame ? siteInForce(request, [frame])?.site ?? null : null, request, catalogue),
    recognition: startRecognition(),
  };
  const useful = 'stars' in frame && frame.metadata.midExposure !== null;
  return { reference, recognition: useful ? recognise(reference, recognition, frame) : recognition };
}

/** What was recognised early holds only if the site it was done with is the site. */
function continued(early: EarlyStart | null, site: Site | null, request: MeasureRequest, catalogue: Catalogue): EarlyStart {
  const same = early !== null && JSON.stringify(early.reference.site) === JSON.stringify(site);
  return same ? early : { reference: makeReference(site, request, catalogue), recognition: startRecognition() };
}
