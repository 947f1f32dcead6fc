import { checkClock } from '../../axis/clockChecks.js';
import { recheckAxis } from '../../axis/recheckAxis.js';
import type { Warning } from '../../axis/warning.js';
import { attempt, PolewardError } from '../../error.js';
import { DEGREE } from '../../geometry/angle.js';
import { viewOfState } from '../../night/record/axisState.js';
import type { AxisState, SessionSite } from '../../night/record/entry.js';
import type { Catalogue } from '../../sky/catalogue.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';
import { type MeasureRequest, type Measured, leftOut, measureKnown } from '../measure/measureFrames.js';
import { westward } from '../measure/measurementJson.js';
import { type FrameResult, clockCorrected } from '../recognise/frameStars.js';
import { requireSameCamera } from '../recognise/goesWith.js';
import { type FrameOutcome, identifyFrames } from '../recognise/identifyFrames.js';
import { pictureWarnings } from '../recognise/pictureWarnings.js';
import { makeReference, startRecognition } from '../recognise/recognition.js';
import { timedFrame } from '../recognise/timedFrame.js';

/**
 * What is left after a knob was turned: from one frame, against the last measurement with rotation (`base`). Two or more frames
 * with rotation between them are a new measurement.
 */
export function recheckFrames(
  found: readonly FrameResult[], request: MeasureRequest, base: AxisState, sessionSite: SessionSite | null, catalogue: Catalogue,
): Measured {
  const results = found.map((result) => clockCorrected(result, request));
  const site = siteInForce(request, results.filter((r) => 'stars' in r), sessionSite);
  const { outcomes } = identifyFrames(results, makeReference(site?.site ?? null, request, catalogue), startRecognition(base));
  if (outcomes.filter((o) => o.known).length >= 2) {
    const measured = attempt(() => measureKnown(outcomes, site, request));
    if (!(measured instanceof PolewardError)) return measured;
    // Without rotation between them they are rechecks of one and the same, and the last is the news.
    if (measured.code !== 'no-rotation') throw measured;
  }
  return recheckKnown(outcomes, base, site, request);
}

/** The same from frames already looked at: the last one recognised counts. */
export function recheckKnown(outcomes: readonly FrameOutcome[], base: AxisState, site: SiteInForce | null, request: MeasureRequest): Measured {
  const last = outcomes.flatMap((o) => (o.known ? [o.known] : [])).at(-1);
  const troubles = outcomes.flatMap((o) => (o.trouble ? [o.trouble] : []));
  if (!last) {
    const [first] = troubles;
    throw new PolewardError(first?.code ?? 'too-few-frames', first?.message ?? 'There is no frame to recheck. Give one.', { remedies: first?.remedies ?? [] });
  }
  const { frame, identification, sky } = last;
  requireSameCamera(base, last);
  const measurement = recheckAxis(viewOfState(base), identification, sky, request.aim);
  const warnings: Warning[] = [...checkClock([timedFrame(last, site)]), ...pictureWarnings([frame]), ...troubles.map(leftOut)];
  if (measurement.slewed) {
    const turned = westward(measurement.turn, measurement.hemisphere) / DEGREE;
    const drive = westward(measurement.tracked, measurement.hemisphere) / DEGREE;
    warnings.push({
      code: 'slewed',
      message: `The mount has turned by ${turned.toFixed(1)}° since the measurement, where the drive can have done ${drive.toFixed(1)}° at most. If it was slewed, declination may have moved too and this answer is wrong by as much. Measure anew with frames turned in right ascension.`,
    });
  }
  return { how: 'recheck', measurement, state: base, site, outcomes, known: [last], warnings };
}
