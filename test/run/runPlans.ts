import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import type { KnobErrors } from '../../src/run/runBudget.js';
import type { RunPlan } from '../../src/run/runTrail.js';
import { NO_REFRACTION, siteRefraction } from '../../src/sky/refraction.js';
import { makeSite } from '../../src/sky/site.js';

export interface Planned {
  readonly latitudeDeg: number;
  readonly declinationDeg: number;
  readonly hourAngleHours: number;
  readonly hours: number;
  readonly exposureSeconds: number;
  readonly air?: { readonly hPa: number; readonly C: number; readonly humidity: number } | null;
}

/** An invented camera: 1.5″ a pixel, 3000 pixels from the middle to a corner, guided in the middle. */
export function planOf(given: Planned, change: Partial<RunPlan> = {}): RunPlan {
  const { latitudeDeg, air } = given;
  const refraction = air ? siteRefraction(makeSite({
    latitudeDeg, longitudeDeg: 0, pressureHectopascal: air.hPa, temperatureCelsius: air.C, relativeHumidity: air.humidity,
  })) : NO_REFRACTION;
  return {
    latitude: latitudeDeg * DEGREE, refraction,
    target: { hourAngle: given.hourAngleHours * 15 * DEGREE, declination: given.declinationDeg * DEGREE },
    hours: given.hours, exposureSeconds: given.exposureSeconds, pixel: 1.5 * ARCSECOND, cornerPixels: 3000, guideOffset: 0, ...change,
  };
}

export function errorOf(altitudeArcmin: number, azimuthArcmin: number): KnobErrors {
  return { altitude: altitudeArcmin * ARCMINUTE, azimuth: azimuthArcmin * ARCMINUTE, sigma: null };
}
