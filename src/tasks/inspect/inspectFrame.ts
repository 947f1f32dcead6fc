import { PolewardError } from '../../error.js';
import { DEGREE } from '../../geometry/angle.js';
import { apply, inverse } from '../../geometry/rotation.js';
import type { FrameMetadata, Sourced } from '../../frames/frame.js';
import { checkClock } from '../../axis/clockChecks.js';
import type { Warning } from '../../axis/warning.js';
import { type RemedyWords, withRemedies } from '../../remedy.js';
import { toPixel } from '../../identify/lens.js';
import { type Pace, WITHOUT_REST } from '../../numeric/steps.js';
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import { focalHint } from '../given/focalHint.js';
import type { GivenValues } from '../given/given.js';
import { type FrameResult, clockCorrected } from '../recognise/frameStars.js';
import { identifySteps } from '../recognise/identifyFrames.js';
import { type KnownFrame, makeReference, startRecognition } from '../recognise/recognition.js';
import { pointingJson, rounded } from '../measure/measurementJson.js';
import { wrap } from '../words/numberWords.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';
import { siteText } from '../words/siteText.js';
import { timedFrame } from '../recognise/timedFrame.js';

/** One frame recognised, with what was used for it. */
export interface Inspected {
  readonly known: KnownFrame;
  readonly site: SiteInForce | null;
  readonly focal: Sourced<number> | null;
}

/** Recognises the stars of one frame. Throws PolewardError where it can't. */
export async function inspectFrame(
  found: FrameResult, given: GivenValues, catalogue: StarCatalogue, pace: Pace = WITHOUT_REST,
): Promise<Inspected> {
  const result = clockCorrected(found, given);
  const site = siteInForce(given, 'stars' in result ? [result] : []);
  const reference = makeReference(site?.site ?? null, given, catalogue);
  const { outcomes: [outcome] } = await pace(identifySteps([result], reference, startRecognition()));
  if (!outcome?.known) {
    const { code, message, remedies = [] } = outcome!.trouble;
    throw new PolewardError(code, message, { remedies });
  }
  return { known: outcome.known, site, focal: focalHint(given, outcome.known.frame) };
}

/** `poleward/frame-1`: one frame for programs. */
export function inspectionJson({ known, site, focal }: Inspected): Record<string, unknown> & { readonly warnings: readonly Warning[] } {
  const { frame, identification } = known;
  return {
    schema: 'poleward/frame-1',
    file: frame.file,
    width: frame.width,
    height: frame.height,
    utc: frame.metadata.midExposure?.value.toISOString() ?? null,
    detected: frame.stars.length,
    identified: identification.stars.length,
    ...pointingJson(known),
    fieldDeg: field(known).map((degrees) => rounded(degrees, 3)),
    focalLengthPixels: rounded(identification.lens.focalPixels, 2),
    focalLengthExpectedPixels: focal && { value: rounded(focal.value, 2), from: focal.from },
    radialTerms: identification.lens.radial,
    residualPixels: rounded(identification.residualPixels, 3),
    logOddsAgainstChance: rounded(identification.logOdds, 1),
    background: rounded(frame.background, 2),
    noise: rounded(frame.noise, 2),
    fwhmPixels: rounded(frame.fwhm, 2),
    pole: polePixel(known),
    ...(frame.standIn === undefined ? {} : { standIn: frame.standIn }),
    notes: frame.notes ?? [],
    metadata: metadataJson(frame.metadata),
    remarks: frame.metadata.remarks,
    warnings: checkClock([timedFrame(known, site)]),
    site: site && { latitudeDeg: site.latitudeDeg, longitudeDeg: site.longitudeDeg, elevationMetres: site.elevationMetres },
    stars: identification.stars.map((star) => ({
      x: rounded(star.detection.x, 3), y: rounded(star.detection.y, 3), sigmaPixels: rounded(star.detection.sigma, 4),
      magnitude: rounded(star.magnitude, 2), catalogue: star.catalogue,
    })),
  };
}

/** One frame for a person. */
export function inspectionText({ known, site, focal }: Inspected, words: RemedyWords): string {
  const { frame, identification } = known;
  const { centre, scaleArcsecPerPixel, mirrored } = pointingJson(known);
  const [fieldWidth, fieldHeight] = field(known);
  const pole = polePixel(known);
  const lines = [
    wrap(`${frame.file} points at RA ${(centre.raDeg / 15).toFixed(3)} h, Dec ${centre.decDeg.toFixed(2)}° (ICRS)`, 60, '  '),
    `${identification.stars.length} stars recognised of ${frame.stars.length} found`,
    `${scaleArcsecPerPixel.toPrecision(4)}″ a pixel, field ${fieldWidth.toPrecision(3)}° x `
      + `${fieldHeight.toPrecision(3)}°${mirrored ? ', mirrored' : ''}`,
    pole ? `the pole as it appears is at pixel ${pole.x.toFixed(1)}, ${pole.y.toFixed(1)}` : 'the pole is behind the camera',
    `stars ${frame.fwhm.toFixed(1)} px wide (FWHM), sky ${frame.background.toFixed(0)} ± ${frame.noise.toFixed(1)} a pixel`,
    `places fit to ${identification.residualPixels.toFixed(2)} px`,
  ];
  if (focal) {
    const off = identification.lens.focalPixels / focal.value - 1;
    lines.push(Math.abs(off) < 0.0005
      ? `focal length agrees with ${focal.from}`
      : `focal length ${(Math.abs(off) * 100).toFixed(1)} % ${off >= 0 ? 'longer' : 'shorter'} than by ${focal.from}`);
  }
  const said = Object.entries(metadataJson(frame.metadata)).map(([key, value]) => `  ${wrap(`${key}: ${describe(value)}`, 58, '    ')}`);
  const parts = [lines.join('\n'), ['what the file says', ...said].join('\n')];
  const notes = [...(frame.standIn === undefined ? [] : [frame.standIn]), ...(frame.notes ?? []), ...frame.metadata.remarks];
  if (notes.length > 0) parts.push(notes.map((r) => wrap(`note: ${r}`, 60, '  ')).join('\n'));
  for (const { message, remedies } of checkClock([timedFrame(known, site)])) parts.push(wrap(
    `warning: ${withRemedies(message, remedies, words)}`, 60, '  ',
  ));
  if (site) parts.push(siteText(site));
  return parts.join('\n\n');
}

function field({ frame, identification }: KnownFrame): [number, number] {
  const across = (pixels: number): number => (2 * Math.atan(pixels / 2 / identification.lens.focalPixels)) / DEGREE;
  return [across(frame.width), across(frame.height)];
}

function polePixel({ identification, sky, hemisphere }: KnownFrame): { x: number; y: number } | null {
  const pixel = toPixel(identification.lens, apply(inverse(identification.pose), sky.refractedPole(hemisphere)));
  return pixel && { x: rounded(pixel.x, 2), y: rounded(pixel.y, 2) };
}

/** Each thing the file says with its origin. */
function metadataJson(metadata: FrameMetadata): Record<string, Sourced<unknown>> {
  const entries = Object.entries(metadata).filter(
    ([key, value]) => value !== null && typeof value === 'object' && 'from' in value && key !== 'pointing',
  );
  return Object.fromEntries(entries) as Record<string, Sourced<unknown>>;
}

function describe({ value, from }: Sourced<unknown>): string {
  return `${value instanceof Date ? value.toISOString() : String(value)} (${from})`;
}
