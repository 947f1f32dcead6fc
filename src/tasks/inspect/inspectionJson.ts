import type { Warning } from '../../axis/warning.js';
import { pointingJson, rounded } from '../measure/measurementJson.js';
import type { KnownFrame } from '../recognise/recognition.js';
import type { Inspected } from './inspectFrame.js';
import { whereOf } from '../words/whereText.js';
import { field, metadataJson, polePixel } from './onSensor.js';

/** `poleward/frame-1`: one frame for programs. */
export function inspectionJson(
  { frame, known, assumedTime, site, focal, hindrances, warnings }: Inspected,
): Record<string, unknown> & { readonly warnings: readonly Warning[] } {
  const identification = known?.identification ?? null;
  return {
    schema: 'poleward/frame-1',
    file: frame.file,
    width: frame.width,
    height: frame.height,
    utc: frame.metadata.midExposure?.value.toISOString() ?? null,
    detected: frame.stars.length,
    identified: identification?.stars.length ?? 0,
    ...(known ? pointingJson(known) : { centre: null, scaleArcsecPerPixel: null, mirrored: null }),
    fieldDeg: known && field(known).map((degrees) => rounded(degrees, 3)),
    focalLengthPixels: identification && rounded(identification.lens.focalPixels, 2),
    focalLengthExpectedPixels: focal && { value: rounded(focal.value, 2), from: focal.from },
    radialTerms: identification?.lens.radial ?? null,
    residualPixels: identification && rounded(identification.residualPixels, 3),
    logOddsAgainstChance: identification && rounded(identification.logOdds, 1),
    background: rounded(frame.background, 2),
    noise: rounded(frame.noise, 2),
    fwhmPixels: rounded(frame.fwhm, 2),
    saturatedStars: frame.stars.filter((star) => star.saturated).length,
    pole: known && polePixel(known),
    where: known && whereJson(known),
    assumedTime: assumedTime?.toISOString() ?? null,
    hindrances: hindrances.map(({ code, message }) => ({ code, message })),
    ...(frame.standIn === undefined ? {} : { standIn: frame.standIn }),
    notes: frame.notes ?? [],
    metadata: metadataJson(frame.metadata),
    remarks: frame.metadata.remarks,
    warnings,
    site: site && { latitudeDeg: site.latitudeDeg, longitudeDeg: site.longitudeDeg, elevationMetres: site.elevationMetres },
    stars: (identification?.stars ?? []).map((star) => ({
      x: rounded(star.detection.x, 3), y: rounded(star.detection.y, 3), sigmaPixels: rounded(star.detection.sigma, 4),
      magnitude: rounded(star.magnitude, 2), catalogue: star.catalogue,
    })),
  };
}

/** Where the frame looks and where the pole is from there, degrees. */
function whereJson(known: KnownFrame): Record<string, unknown> {
  const { constellation, poleAwayDeg, horizon } = whereOf(known);
  return {
    constellation, poleAwayDeg: rounded(poleAwayDeg, 3),
    ...(horizon ? Object.fromEntries(Object.entries(horizon).map(([key, value]) => [key, rounded(value, 3)])) : {}),
  };
}
