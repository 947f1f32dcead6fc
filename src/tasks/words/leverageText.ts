import type { AxisResult } from '../../axis/axisResult.js';
import { type Moves, leverage } from '../../axis/elsewhere.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import type { SiteInForce } from '../given/siteInForce.js';
import type { KnownFrame } from '../recognise/recognition.js';
import { wrap } from './numberWords.js';

/** The source of a time or place that a header gives: any other source means that somebody gave it. */
const OWN = /^(FITS|EXIF|XMP)\b/;

/** Whether latitude and longitude both come from a frame's own header. */
export function isOwnPlace({ latitudeDeg, longitudeDeg }: SiteInForce): boolean {
  return OWN.test(latitudeDeg.from) && OWN.test(longitudeDeg.from);
}

/**
 * How far an hour of the clock and a degree of the place would move altitude and azimuth, where the frames' own headers do not give them;
 * empty where they do.
 */
export function leverageText(result: AxisResult, known: readonly KnownFrame[], site: SiteInForce | null, width: number): string {
  const [first] = known;
  const moves = first && leverage(result, first.sky);
  if (!moves || !site) return '';
  const parts = [
    ...(known.some(assumedClock) ? [`by ${both(moves.hour)} for an hour of the clock`] : []),
    ...(isOwnPlace(site) ? [] : [
      `by ${both(moves.longitudeDegree)} for 1° of longitude`, `by ${both(moves.latitudeDegree)} for 1° of latitude`,
    ]),
  ];
  return parts.length === 0 ? '' : wrap(`if wrong, altitude and azimuth move ${parts.join('; ')}`, width, '  ');
}

function assumedClock({ frame }: KnownFrame): boolean {
  const from = frame.metadata.midExposure?.from ?? '';
  return frame.timeGiven !== undefined || frame.clockAheadSeconds !== undefined || / and (the zone given|\S+ \([+-]\d\d:\d\d[,)])/.test(from);
}

/** "2.5′ and 3.1′" */
function both({ altitude, azimuth }: Moves): string {
  return `${size(altitude)} and ${size(azimuth)}`;
}

function size(angle: number): string {
  const arcmin = angle / ARCMINUTE;
  return arcmin < 0.05 ? 'under 0.1′' : `${arcmin.toFixed(1)}′`;
}
