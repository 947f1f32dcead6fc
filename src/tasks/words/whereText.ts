import { horizontal } from '../../axis/axisError.js';
import { DEGREE, wrapSigned } from '../../geometry/angle.js';
import { angleBetween } from '../../geometry/vector.js';
import { constellationOf } from '../../sky/constellation.js';
import type { KnownFrame } from '../recognise/recognition.js';

/** Where a recognised frame looks and where the pole is from there. Degrees. */
export interface Where {
  readonly constellation: string;
  /** Of the pole as it appears (of date, where the site is unknown) from the frame's middle. */
  readonly poleAwayDeg: number;
  /** Null where the site is unknown. */
  readonly horizon: {
    readonly altitudeDeg: number;
    readonly azimuthDeg: number;
    /** How far the pole is higher, and how far to the right about the vertical; -180 to 180. */
    readonly poleHigherDeg: number;
    readonly poleRightDeg: number;
  } | null;
}

export function whereOf({ sky, hemisphere, identification: { pose } }: KnownFrame): Where {
  const toward = [pose[2], pose[5], pose[8]] as const;
  const pole = sky.refractedPole(hemisphere);
  const [here, there] = [horizontal(toward), horizontal(pole)];
  return {
    constellation: constellationOf(sky.fromLocal(toward)),
    poleAwayDeg: angleBetween(toward, pole) / DEGREE,
    horizon: sky.site && {
      altitudeDeg: here.altitude / DEGREE, azimuthDeg: here.azimuth / DEGREE,
      poleHigherDeg: (there.altitude - here.altitude) / DEGREE, poleRightDeg: wrapSigned(there.azimuth - here.azimuth) / DEGREE,
    },
  };
}

/** "looks 31.2° high toward the north-east (azimuth 47.0°), in Cassiopeia; the pole is 14° higher and 20° left". */
export function whereText(where: Where): string {
  const { constellation, poleAwayDeg, horizon } = where;
  if (!horizon) return `in ${constellation}, ${degrees(poleAwayDeg)} from the pole`;
  const { altitudeDeg, azimuthDeg } = horizon;
  return `looks ${altitudeDeg.toFixed(1)}° high toward the ${quarter(azimuthDeg)} (azimuth ${azimuthDeg.toFixed(1)}°), in `
    + `${constellation}; the pole is ${wayToPole(horizon)}`;
}

/** Farther from the pole than this, degrees, a person may not know where the camera looks. */
const NEAR_POLE_DEG = 12;

/** "It looks 31.2° high …", and what that means for the mount, of a frame that does not show the pole; empty where it does. */
export function aboutFrame(known: KnownFrame): string {
  const where = whereOf(known);
  if (where.poleAwayDeg < NEAR_POLE_DEG) return '';
  const coarse = coarseText(where);
  return `The frame ${where.horizon ? '' : 'looks '}${whereText(where)}.${coarse === '' ? '' : ` ${coarse}`}`;
}

/** Farther from the pole than this, degrees, a camera does not look along an axis that was set down toward it. */
const ALONG_AXIS_DEG = 50;

/**
 * How the latitude scale and the base of the mount should be moved if the camera looks along the axis; empty where it can't. Only the
 * person knows whether it does: one frame does not show the axis.
 */
export function coarseText({ poleAwayDeg, horizon }: Where): string {
  if (!horizon || poleAwayDeg > ALONG_AXIS_DEG) return '';
  const { poleHigherDeg: up, poleRightDeg: right } = horizon;
  return `If the camera looks along the right-ascension axis (declination 90°): ${up < 0 ? 'lower' : 'raise'} the latitude scale by `
    + `${degrees(up)}, turn the base ${degrees(right)} to the ${right < 0 ? 'left' : 'right'}.`;
}

/** "14° higher and 20° left" */
export function wayToPole({ poleHigherDeg: up, poleRightDeg: right }: NonNullable<Where['horizon']>): string {
  return `${degrees(up)} ${up < 0 ? 'lower' : 'higher'} and ${degrees(right)} ${right < 0 ? 'left' : 'right'}`;
}

/** Without a sign: "14°", below ten "2.3°". */
function degrees(value: number): string {
  const size = Math.abs(value);
  return `${size.toFixed(size < 9.95 ? 1 : 0)}°`;
}

const QUARTERS = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'] as const;

function quarter(azimuthDeg: number): string {
  return QUARTERS[Math.round(azimuthDeg / 45) % 8]!;
}
