import { DEGREE } from '../geometry/angle.js';

/** Where the mount stands, and its air. */
export interface Site {
  /** Geodetic, radians, north positive, -π/2 to π/2. */
  readonly latitude: number;
  /** Radians, east positive. */
  readonly longitude: number;
  readonly elevationMetres: number;
  /** At the site, not reduced to sea level. 0 = no air. */
  readonly pressureHectopascal: number;
  readonly temperatureCelsius: number;
  /** 0 to 1 */
  readonly relativeHumidity: number;
  /** True when pressure and temperature were given, false when the standard atmosphere replaces either. */
  readonly airKnown: boolean;
}

/** What a person gives for a site; what is absent or null comes from the standard atmosphere. */
export interface SiteGiven {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationMetres?: number | null;
  readonly pressureHectopascal?: number | null;
  readonly temperatureCelsius?: number | null;
  readonly relativeHumidity?: number | null;
}

/** A site from what is given. Default elevation: sea level; default humidity: one half. */
export function makeSite(given: SiteGiven): Site {
  const elevationMetres = given.elevationMetres ?? 0;
  return {
    latitude: given.latitudeDeg * DEGREE,
    longitude: given.longitudeDeg * DEGREE,
    elevationMetres,
    pressureHectopascal: given.pressureHectopascal ?? standardPressure(elevationMetres),
    temperatureCelsius: given.temperatureCelsius ?? standardTemperature(elevationMetres),
    // Half of the possible humidity changes the refraction of light by less than 0.1 %.
    relativeHumidity: given.relativeHumidity ?? 0.5,
    airKnown: typeof given.pressureHectopascal === 'number' && typeof given.temperatureCelsius === 'number',
  };
}

/**
 * Pressure in hPa at an elevation in metres, -1000 to 11000: the troposphere of the standard atmosphere, ISO 2533:1975
 * (1013.25 hPa and 15 °C at sea level, 6.5 K less each kilometre, exponent g·M/(R·0.0065) = 5.25588).
 */
export function standardPressure(elevationMetres: number): number {
  return 1013.25 * Math.pow(1 - (0.0065 * elevationMetres) / 288.15, 5.25588);
}

/** Temperature in °C at an elevation in metres, -1000 to 11000, from the same atmosphere. */
export function standardTemperature(elevationMetres: number): number {
  return 15 - 0.0065 * elevationMetres;
}
