import { PolewardError } from '../error.js';
import type { Aim } from '../axis/axisResult.js';
import { type AxisMeasurement, measureAxis } from '../axis/measureAxis.js';
import { checkClock } from '../axis/clockChecks.js';
import { altitudeOfPole, checkMeasurement } from '../axis/measurementChecks.js';
import type { Warning } from '../axis/warning.js';
import { sunAltitude } from '../sky/sun.js';
import type { CommonOptions } from './commonOptions.js';
import { embeddedCatalogue } from './embeddedCatalogue.js';
import { type FrameOutcome, type KnownFrame, focalHint, identifyFrames } from './identifyFrames.js';
import { type SiteInForce, siteInForce } from './siteInForce.js';
import { starsOfFrames } from './starsOfFrames.js';

/** A measurement with all that is shown beside it. */
export interface Measured {
  readonly measurement: AxisMeasurement;
  readonly site: SiteInForce | null;
  readonly outcomes: readonly FrameOutcome[];
  /** The known frames, in the order of `measurement.frames`. */
  readonly known: readonly KnownFrame[];
  readonly warnings: readonly Warning[];
}

/** From files to the axis: reads, finds stars, recognises them, measures. Throws PolewardError where two frames don't remain. */
export async function measureFrames(files: readonly string[], options: CommonOptions): Promise<Measured> {
  if (files.length < 2) {
    throw new PolewardError('too-few-frames', 'One frame alone does not show the axis. Give two or more, with the mount turned in right ascension between them.');
  }
  const results = await starsOfFrames(files, options.utcOffset);
  const site = siteInForce(options, results.filter((r) => 'stars' in r));
  const outcomes = identifyFrames(results, site?.site ?? null, options, embeddedCatalogue());
  const known = outcomes.flatMap((o) => (o.known ? [o.known] : []));
  const troubles = outcomes.flatMap((o) => (o.trouble ? [o.trouble] : []));
  if (known.length < 2) throw tooFew(known.length, troubles.map((t) => t.message), troubles[0]?.code ?? 'too-few-frames');
  const measurement = measureAxis(known.map(({ frame, sky, identification }) => ({
    identification, sky, width: frame.width, height: frame.height,
  })), options.aim as Aim);
  const warnings: Warning[] = [
    ...checkMeasurement(measurement, known.map(({ frame, identification }) => ({
      file: frame.file, identified: identification.stars.length, saidFocalPixels: focalHint(options, frame)?.value ?? null,
    })), site && altitudeOfPole(measurement)),
    ...checkClock(known.map(({ frame, sky }) => ({
      file: frame.file, time: sky.time, sunAltitude: site && sunAltitude(sky.time, site.site),
    }))),
    ...troubles.map((t): Warning => ({ code: 'frame-skipped', message: `Left out: ${t.message}` })),
  ];
  if (!site) {
    warnings.push({
      code: 'no-site',
      message: 'Without the site there is no altitude or azimuth, only the distance from the pole. Give --latitude and --longitude to learn which knob to turn.',
    });
  }
  return { measurement, site, outcomes, known, warnings };
}

/** Says each reason once, and counts. */
function tooFew(known: number, reasons: readonly string[], code: PolewardError['code']): PolewardError {
  const left = known === 0 ? 'No frame can be used' : 'Only one frame can be used, and two are needed';
  const shown = reasons.slice(0, 3).join('\n');
  const more = reasons.length > 3 ? `\n… and ${reasons.length - 3} more.` : '';
  return new PolewardError(code, `${left}. ${shown}${more}`);
}
