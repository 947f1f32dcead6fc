import { Body, Equator, Horizon, MakeTime, Observer } from 'astronomy-engine';
import { DEGREE } from '../geometry/angle.js';
import type { Site } from './site.js';

/** Altitude of the Sun's centre at a site, radians, without air. From astronomy-engine, accurate to an arcminute. */
export function sunAltitude(time: Date, site: Site): number {
  const observer = new Observer(site.latitude / DEGREE, site.longitude / DEGREE, site.elevationMetres);
  const t = MakeTime(time);
  const { ra, dec } = Equator(Body.Sun, t, observer, true, true);
  return Horizon(t, observer, ra, dec).altitude * DEGREE;
}
