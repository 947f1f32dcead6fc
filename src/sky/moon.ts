import { Body, Equator, Horizon, Illumination, MakeTime, MoonPhase, Observer } from 'astronomy-engine';
import { DEGREE } from '../geometry/angle.js';
import { type Stretch, stretchesBelow } from './crossings.js';
import type { NightSpan } from './darkness.js';
import type { Hemisphere } from './localSky.js';
import type { Site } from './site.js';

/** The Moon over a site. */
export interface MoonPlace {
  /** Lit share of its disc, 0 to 1. */
  readonly lit: number;
  /** Ecliptic longitude from the Sun's, radians, 0 (new) to π (full) to 2π. */
  readonly elongation: number;
  /** From the elevated celestial pole, radians, as seen from the site. */
  readonly fromPole: number;
  /** Of its centre, without air, radians. */
  readonly altitude: number;
}

/** From astronomy-engine, accurate to an arcminute. */
export function moonPlace(hemisphere: Hemisphere, time: Date, site: Site): MoonPlace {
  const t = MakeTime(time);
  const observer = new Observer(site.latitude / DEGREE, site.longitude / DEGREE, site.elevationMetres);
  const { ra, dec } = Equator(Body.Moon, t, observer, true, true);
  return {
    lit: Illumination(Body.Moon, t).phase_fraction,
    elongation: MoonPhase(t) * DEGREE,
    fromPole: Math.PI / 2 - hemisphere * dec * DEGREE,
    altitude: Horizon(t, observer, ra, dec).altitude * DEGREE,
  };
}

/** When the Moon's upper edge is above the horizon of the sea, with standard refraction (centre at -50′), during a night. */
export function moonUp(hemisphere: Hemisphere, site: Site, { noon, nextNoon }: NightSpan): Stretch[] {
  return stretchesBelow((time) => -50 / 60 * DEGREE - moonPlace(hemisphere, time, site).altitude, noon, nextNoon);
}

/** The usual name of a phase: the four quarters within 6° (half a day), else the phase between. */
export function phaseName(elongation: number): string {
  const degrees = elongation / DEGREE;
  const quarter = Math.round(degrees / 90) % 4;
  if (Math.abs(degrees - 90 * Math.round(degrees / 90)) <= 6) return ['new', 'first quarter', 'full', 'last quarter'][quarter]!;
  return ['waxing crescent', 'waxing gibbous', 'waning gibbous', 'waning crescent'][Math.floor(degrees / 90) % 4]!;
}
