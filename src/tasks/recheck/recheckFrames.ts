import { PolewardError } from '../../error.js';
import { checkClock } from '../../axis/clockChecks.js';
import { recheckAxis } from '../../axis/recheckAxis.js';
import type { Warning } from '../../axis/warning.js';
import { DEGREE } from '../../geometry/angle.js';
import { viewOfState } from '../../night/record/axisState.js';
import type { AxisState, SessionSite } from '../../night/record/entry.js';
import { requireSameCamera } from '../recognise/goesWith.js';
import { timedFrame } from '../recognise/timedFrame.js';
import type { CommonOptions } from '../../cli/commonOptions.js';
import { type InForce, clockCorrected } from '../given/inForce.js';
import { embeddedCatalogue } from '../../node/embeddedCatalogue.js';
import { type FrameOutcome, identifyFrames } from '../recognise/identifyFrames.js';
import { type Measured, measureKnown } from '../measure/measureFrames.js';
import { westward } from '../measure/measurementJson.js';
import { type Recognition, startRecognition } from '../recognise/recognition.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';
import { pictureWarnings } from '../recognise/pictureWarnings.js';
import { starsOfFrames } from '../../node/starsOfFrames.js';

/**
 * What is left after a knob was turned: from one frame, against the last measurement with rotation (`base`). Two or more frames
 * with rotation between them are a new measurement.
 */
export async function recheckFrames(
  files: readonly string[], options: CommonOptions & Partial<InForce>, base: AxisState, sessionSite: SessionSite | null,
): Promise<Measured> {
  const results = (await starsOfFrames(files, options.utcOffset)).map((result) => clockCorrected(result, options));
  const site = siteInForce(options, results.filter((r) => 'stars' in r), sessionSite);
  const outcomes = identifyFrames(results, recognitionAfter(base, site, options));
  const known = outcomes.filter((o) => o.known);
  if (known.length >= 2) {
    try {
      return measureKnown(outcomes, site, options);
    } catch (error) {
      // Without rotation between them they are rechecks of one and the same, and the last is the news.
      if (!(error instanceof PolewardError) || error.code !== 'no-rotation') throw error;
    }
  }
  return recheckKnown(outcomes, base, site, options);
}

/** A start that knows the camera of an earlier measurement. */
export function recognitionAfter(base: AxisState, site: SiteInForce | null, options: CommonOptions): Recognition {
  return startRecognition(site?.site ?? null, options, embeddedCatalogue(), { value: base.lens, hemisphere: base.hemisphere });
}

/** The same from frames already looked at: the last one recognised counts. */
export function recheckKnown(outcomes: readonly FrameOutcome[], base: AxisState, site: SiteInForce | null, options: CommonOptions): Measured {
  const last = outcomes.flatMap((o) => (o.known ? [o.known] : [])).at(-1);
  const troubles = outcomes.flatMap((o) => (o.trouble ? [o.trouble] : []));
  if (!last) throw new PolewardError(troubles[0]?.code ?? 'too-few-frames', troubles[0]?.message ?? 'There is no frame to recheck. Give one.');
  const { frame, identification, sky } = last;
  requireSameCamera(base, last);
  const measurement = recheckAxis(viewOfState(base), identification, sky, options.aim);
  const warnings: Warning[] = [
    ...checkClock([timedFrame(last, site)]),
    ...pictureWarnings([frame]),
    ...troubles.map((t): Warning => ({ code: 'frame-skipped', message: `Left out: ${t.message}` })),
  ];
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
