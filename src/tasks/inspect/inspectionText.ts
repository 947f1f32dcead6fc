import type { Sourced } from '../../frames/frame.js';
import { type RemedyWords, withRemedies } from '../../remedy.js';
import { pointingJson } from '../measure/measurementJson.js';
import type { FrameStars } from '../recognise/frameStars.js';
import type { KnownFrame } from '../recognise/recognition.js';
import { isOwnPlace } from '../words/leverageText.js';
import { wrap } from '../words/numberWords.js';
import { siteText } from '../words/siteText.js';
import { coarseText, whereOf, whereText } from '../words/whereText.js';
import type { Inspected } from './inspectFrame.js';
import { field, metadataJson, polePixel } from './onSensor.js';

/** One frame for a person: what it shows, what is missing, what its file says. 60 columns. */
export function inspectionText({ frame, known, assumedTime, site, focal, hindrances, warnings }: Inspected, words: RemedyWords): string {
  const lines = known
    ? recognisedLines(known, focal, assumedTime)
    : [
      wrap(`${frame.file}: ${frame.width} x ${frame.height} pixels, ${frame.stars.length} stars found, none recognised`, 60, '  '),
      widthLine(frame),
    ];
  const parts = [lines.join('\n')];
  // Of a frame without any recognised star they are the error that ends the command.
  if (known) parts.push(...hindrances.map(({ message, remedies }) => wrap(withRemedies(message, remedies, words), 60, '  ')));
  const said = Object.entries(metadataJson(frame.metadata)).map(([key, value]) => `  ${wrap(described(key, value), 58, '    ')}`);
  parts.push(said.length === 0 ? 'the file says nothing about time, exposure, optics or site' : ['what the file says', ...said].join('\n'));
  const notes = [...(frame.standIn === undefined ? [] : [frame.standIn]), ...(frame.notes ?? []), ...frame.metadata.remarks];
  if (notes.length > 0) parts.push(notes.map((r) => wrap(`note: ${r}`, 60, '  ')).join('\n'));
  for (const { message, remedies } of warnings) parts.push(wrap(`warning: ${withRemedies(message, remedies, words)}`, 60, '  '));
  // The file's own place stands among what it says.
  if (site && !isOwnPlace(site)) parts.push(siteText(site));
  return parts.join('\n\n');
}

/** Farther from the pole than this, degrees, its pixel is of no use. */
const NEAR_POLE_DEG = 30;

function recognisedLines(known: KnownFrame, focal: Sourced<number> | null, assumedTime: Date | null): string[] {
  const { frame, identification } = known;
  const { centre, scaleArcsecPerPixel, mirrored } = pointingJson(known);
  const [fieldWidth, fieldHeight] = field(known);
  const pole = polePixel(known);
  const away = whereOf(known).poleAwayDeg > NEAR_POLE_DEG;
  const [poleName, digits] = assumedTime ? [`the pole of ${assumedTime.getUTCFullYear()}`, 0] : ['the pole as it appears', 1];
  const lines = [
    wrap(`${frame.file} points at RA ${(centre.raDeg / 15).toFixed(3)} h, Dec ${centre.decDeg.toFixed(2)}° (ICRS)`, 60, '  '),
    wrap(whereText(whereOf(known)), 60, '  '),
    `${identification.stars.length} stars recognised of ${frame.stars.length} found`,
    `${scaleArcsecPerPixel.toPrecision(4)}″ a pixel, field ${fieldWidth.toPrecision(3)}° x `
      + `${fieldHeight.toPrecision(3)}°${mirrored ? ', mirrored' : ''}`,
    ...(away ? [] : [
      pole ? `${poleName} is at pixel ${pole.x.toFixed(digits)}, ${pole.y.toFixed(digits)}` : 'the pole is behind the camera',
    ]),
    widthLine(frame),
    `star positions fit to ${identification.residualPixels.toFixed(2)} px`,
  ];
  const coarse = away ? coarseText(whereOf(known)) : '';
  if (coarse !== '') lines.push(wrap(coarse, 60, '  '));
  if (assumedTime) lines.push(wrap(
    `the stars were placed for ${assumedTime.toISOString().slice(0, 10)}, since the time is not known`, 60, '  ',
  ));
  if (focal) {
    const off = identification.lens.focalPixels / focal.value - 1;
    lines.push(Math.abs(off) < 0.0005
      ? `focal length agrees with ${focal.from}`
      : `focal length ${(Math.abs(off) * 100).toFixed(1)} % ${off >= 0 ? 'longer' : 'shorter'} than by ${focal.from}`);
  }
  return lines;
}

function widthLine({ stars, fwhm, background, noise }: FrameStars): string {
  const width = stars.length > 0 && Number.isFinite(fwhm) ? `stars ${fwhm.toFixed(1)} px wide (FWHM), ` : '';
  const sky = Number.isFinite(background)
    ? `sky ${background.toFixed(0)} ± ${noise.toFixed(1)} a pixel`
    : 'all pixels have the same value';
  const full = stars.filter((star) => star.saturated).length;
  return `${width}${sky}${full === 0 ? '' : `\n${full} of the stars ${full === 1 ? 'is' : 'are'} saturated`}`;
}

/** Name and unit of what a file says; what is not listed goes by its own name. */
const SAID: Readonly<Record<string, readonly [name: string, unit: string]>> = {
  midExposure: ['middle of the exposure', ' UTC'], exposureSeconds: ['exposure', ' s'], binning: ['binning', ''],
  pixelSizeMicrometres: ['pixel size', ' µm'], focalLengthMillimetres: ['focal length', ' mm'],
  latitudeDeg: ['latitude', '°'], longitudeDeg: ['longitude', '°'], elevationMetres: ['elevation', ' m'],
  utcOffsetMinutes: ['clock zone', ' min east of UTC'], overruledZoneMinutes: ['clock zone, not used', ' min east of UTC'],
  unzonedClock: ['clock time without a zone', ''],
};

function described(key: string, { value, from }: Sourced<unknown>): string {
  const [name, unit] = SAID[key] ?? [key, ''];
  return `${name} ${value instanceof Date ? value.toISOString().replace('T', ' ').replace('Z', '') : String(value)}${unit} (${from})`;
}
