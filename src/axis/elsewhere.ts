import { DEGREE } from '../geometry/angle.js';
import { makeLocalSky, type LocalSky } from '../sky/localSky.js';
import type { Site } from '../sky/site.js';
import { aimedPole } from './aim.js';
import { type AxisError, axisError } from './axisError.js';
import type { AxisResult } from './axisResult.js';

/** By how much an answer changes with time or place, radians of altitude and azimuth error. */
export interface Moves {
  readonly altitude: number;
  readonly azimuth: number;
}

/** How much an answer moves for an hour of the clock, a degree of longitude, a degree of latitude; no signs. */
export interface Leverage {
  readonly hour: Moves;
  readonly longitudeDegree: Moves;
  readonly latitudeDegree: Moves;
}

const HOUR_MS = 3_600_000;
/** Half the step of a numerical derivative, as a share of its unit. */
const STEP = 0.05;

/**
 * The error from the aimed pole that the same frames would give at another site or time: the axis points at the same star, but that star's
 * place relative to the pole differs. `sky` is that of any frame. Null where the pole of the frames is below that site's horizon.
 */
export function errorElsewhere(
  { axis, aim, hemisphere }: Pick<AxisResult, 'axis' | 'aim' | 'hemisphere'>, sky: LocalSky, site: Site, time = sky.time,
): AxisError | null {
  if (site.latitude * hemisphere < 0) return null;
  const there = makeLocalSky(time, site);
  return axisError(there.toLocal(sky.fromLocal(axis)), aimedPole(there, hemisphere, aim));
}

/** The derivative of an answer with respect to clock and place; null without a site, and within a degree of equator or pole. */
export function leverage(result: AxisResult, sky: LocalSky): Leverage | null {
  const { site, time } = sky;
  if (site === null || Math.abs(site.latitude) < DEGREE || Math.abs(site.latitude) > 89 * DEGREE) return null;
  const slope = (at: (part: number) => { site?: Site; time?: Date }): Moves => {
    const [before, after] = [-STEP, STEP].map((part) => {
      const moved = at(part);
      return errorElsewhere(result, sky, moved.site ?? site, moved.time ?? time)!;
    }) as [AxisError, AxisError];
    return {
      altitude: Math.abs(after.altitude - before.altitude) / (2 * STEP), azimuth: Math.abs(after.azimuth - before.azimuth) / (2 * STEP),
    };
  };
  return {
    hour: slope((part) => ({ time: new Date(time.getTime() + part * HOUR_MS) })),
    longitudeDegree: slope((part) => ({ site: { ...site, longitude: site.longitude + part * DEGREE } })),
    latitudeDegree: slope((part) => ({ site: { ...site, latitude: site.latitude + part * DEGREE } })),
  };
}
