import geomagnetism from 'geomagnetism';
import { DEGREE } from '../geometry/angle.js';
import type { Site } from './site.js';

/** The model's name, the day on which it begins and the one on which it ends. */
export const MAGNETIC_MODEL = {
  name: 'WMM2025', from: new Date(Date.UTC(2025, 0, 1)), until: new Date(Date.UTC(2030, 0, 1)),
} as const;

/** How reliable a compass is: the model's caution zone lies below 6000 nT, its blackout zone below 2000 nT. */
export type CompassUse = 'usable' | 'caution' | 'useless';

/** The Earth's main field at a site. A compass is also deflected by iron, magnets and local rocks, which no model includes. */
export interface MagneticNorth {
  /** Magnetic north from true north, radians, east positive, -π to π. */
  readonly declination: number;
  /** One-sigma error of the declination, radians. */
  readonly sigma: number;
  /** The part of the field that turns a needle, nanotesla. */
  readonly horizontalNanotesla: number;
  readonly use: CompassUse;
  /** False before and after the model's five years; the field is then extrapolated linearly. */
  readonly inForce: boolean;
}

const CAUTION_NANOTESLA = 6000;
const BLACKOUT_NANOTESLA = 2000;

/**
 * The magnetic declination by the World Magnetic Model 2025 (NOAA NCEI and BGS; coefficients and spherical harmonics from the
 * package `geomagnetism`). Its sigma is the model's own, √(0.26² + (5417 / H)²) degrees with H in nanotesla, and so are the zones of
 * a weak horizontal field (both from the WMM2025 report, from memory).
 *
 * @param time any; warn where `inForce` is false
 */
export function magneticNorth(time: Date, site: Site): MagneticNorth {
  // The coefficients are linear in time, and so are the components of the field: two epochs give them at any date,
  // past the dates that the package accepts, too.
  const [a, b] = EPOCHS.map((date) => field(date, site)) as [Field, Field];
  const share = (time.getTime() - EPOCHS[0].getTime()) / (EPOCHS[1].getTime() - EPOCHS[0].getTime());
  const north = a.x + share * (b.x - a.x);
  const east = a.y + share * (b.y - a.y);
  const horizontalNanotesla = Math.hypot(north, east);
  return {
    declination: Math.atan2(east, north),
    sigma: Math.min(180, Math.hypot(0.26, 5417 / horizontalNanotesla)) * DEGREE,
    horizontalNanotesla,
    use: horizontalNanotesla < BLACKOUT_NANOTESLA ? 'useless' : horizontalNanotesla < CAUTION_NANOTESLA ? 'caution' : 'usable',
    inForce: time >= MAGNETIC_MODEL.from && time < MAGNETIC_MODEL.until,
  };
}

/** Two dates at the start of a year, for which the package computes the decimal year exactly. */
const EPOCHS = [new Date(Date.UTC(2025, 0, 1)), new Date(Date.UTC(2029, 0, 1))] as const;

interface Field { readonly x: number; readonly y: number }

function field(date: Date, { latitude, longitude, elevationMetres }: Site): Field {
  return geomagnetism.model(date).point([latitude / DEGREE, longitude / DEGREE, elevationMetres / 1000]);
}
