import type { Aim } from '../axis/aim.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../geometry/angle.js';
import type { Catalogue } from '../sky/catalogue.js';
import type { Stretch } from '../sky/crossings.js';
import { type Darkness, type NightSpan, darkness, nextDarkNight } from '../sky/darkness.js';
import { type Hemisphere, makeLocalSky } from '../sky/localSky.js';
import { type MagneticNorth, magneticNorth } from '../sky/magneticNorth.js';
import { type MoonPlace, moonPlace, moonUp } from '../sky/moon.js';
import { type PoleStar, type PoleStarPlace, poleStar, poleStarPlace } from '../sky/poleStar.js';
import { refract } from '../sky/refraction.js';
import type { Site } from '../sky/site.js';
import { type SuggestedExposure, forecastExposure, suggestExposure } from './prepareExposure.js';
import { type FieldSize, type PlannedCamera, fieldSize } from './prepareField.js';
import { type PayloadCheck, checkPayload } from './preparePayload.js';
import { type RotationPlan, planRotation } from './prepareRotation.js';
import { type StarCamera, starsNear } from './prepareStars.js';

/** What is known at home of site, night and rig. */
export interface PreparationGiven {
  readonly site: Site;
  readonly hemisphere: Hemisphere;
  readonly night: NightSpan;
  /** Times for which the pole star is wanted; null = every hour from dark on. */
  readonly times: readonly Date[] | null;
  readonly aim: Aim;
  readonly camera: PlannedCamera | null;
  /** The same camera with all that a forecast of stars needs. */
  readonly starCamera: StarCamera | null;
  /** Seconds; null = suggest one. */
  readonly exposureSeconds: number | null;
  /** The wanted one-sigma error of the axis, each coordinate on the sky, radians. */
  readonly precision: number;
  readonly payload: { readonly payloadKilograms: number; readonly capacityKilograms: number } | null;
  /** Called only where stars are forecast. */
  readonly catalogue: () => Catalogue;
}

/** One sheet for a night. Angles in radians. */
export interface Preparation {
  readonly site: Site;
  readonly hemisphere: Hemisphere;
  readonly night: NightSpan;
  /** What the mount's latitude scale should show: the true pole's altitude. */
  readonly scale: number;
  /** How much the air lifts the pole. */
  readonly lift: number;
  readonly magnetic: MagneticNorth;
  /** Compass bearing (from magnetic north, clockwise) of the true direction of the elevated pole. */
  readonly bearing: number;
  readonly star: PoleStar;
  readonly starPlaces: readonly { readonly time: Date; readonly place: PoleStarPlace }[];
  readonly dark: Darkness;
  /** Where it never gets below -12°: the noon before the next night that does; null = not within a year. */
  readonly nextDark: Date | null;
  /** At the middle of the night. */
  readonly moon: MoonPlace;
  readonly moonUp: readonly Stretch[];
  readonly field: FieldSize | null;
  readonly exposure: SuggestedExposure | null;
  readonly rotation: RotationPlan | null;
  readonly precision: number;
  readonly payload: PayloadCheck | null;
}

const HOUR = 3_600_000;
/** Rows of the pole star's table where no times are given. */
const MOST_TIMES = 5;

/** All values of the sheet. Under a second; most of it for the forecast of stars and rotation. */
export function prepareNight(given: PreparationGiven): Preparation {
  const { site, hemisphere, night } = given;
  const dark = darkness(site, night);
  const magnetic = magneticNorth(dark.middle, site);
  const scale = Math.abs(site.latitude);
  const sky = makeLocalSky(dark.middle, site);
  const { exposure, rotation } = forecast(given, sky);
  const towardPole = hemisphere === 1 ? 0 : Math.PI;
  const bearing = towardPole - magnetic.declination;
  return {
    site, hemisphere, night, scale, dark, magnetic, exposure, rotation,
    lift: Math.PI / 2 - scale - refract(sky.refraction, Math.PI / 2 - scale),
    bearing: bearing < 0 ? bearing + 2 * Math.PI : bearing,
    star: poleStar(hemisphere),
    starPlaces: (given.times ?? usualTimes(dark)).map((time) => ({ time, place: poleStarPlace(hemisphere, time, site) })),
    nextDark: dark.nautical.kind === 'none' ? nextDarkNight(site, night) : null,
    moon: moonPlace(hemisphere, dark.middle, site),
    moonUp: moonUp(hemisphere, site, night),
    field: given.camera && fieldSize(given.camera),
    precision: given.precision,
    payload: given.payload && checkPayload(given.payload.payloadKilograms, given.payload.capacityKilograms),
  };
}

function forecast(
  { starCamera: camera, hemisphere, exposureSeconds, catalogue, aim, precision }: PreparationGiven, sky: ReturnType<typeof makeLocalSky>,
): { exposure: SuggestedExposure | null; rotation: RotationPlan | null } {
  if (!camera) return { exposure: null, rotation: null };
  const stars = starsNear(
    catalogue(), sky.fromLocal(sky.refractedPole(hemisphere)), Math.min(Math.PI / 2, (fieldSize(camera).diagonalDeg / 2 + 1) * DEGREE),
  );
  const exposure = exposureSeconds === null ? suggestExposure(camera, stars) : forecastExposure(camera, exposureSeconds, stars);
  return {
    exposure,
    rotation: planRotation({ sky, hemisphere, camera, exposureSeconds: exposure.exposureSeconds, catalogue: catalogue(), aim }, precision),
  };
}

/** From the beginning of nautical darkness, else of sunset, every hour; where there is neither, the middle of the night. */
function usualTimes({ nautical, sunDown, middle }: Darkness): Date[] {
  const night = nautical.kind === 'from-to' ? nautical : sunDown;
  if (night.kind !== 'from-to') return [middle];
  const times: Date[] = [];
  for (let t = night.from.getTime(); t < night.to.getTime() && times.length < MOST_TIMES; t += HOUR) times.push(new Date(t));
  return times;
}

/** What a person should know before leaving home. */
export type PreparationWarningCode =
  | 'magnetic-model-years' | 'compass-weak' | 'near-earth-pole' | 'low-pole' | 'few-stars' | 'precision-out-of-reach'
  | 'wide-field' | 'payload';

export interface PreparationWarning {
  readonly code: PreparationWarningCode;
  /** What it is, and what to do. */
  readonly message: string;
}

/** As measurementChecks has it. */
const LOW_POLE = 15 * DEGREE;
const NEAR_EARTH_POLE = 80 * DEGREE;
/** Frames are recognised up to this field (DESIGN, section 3). */
const WIDEST_FIELD_DEG = 60;

/** Warnings about a night; the times of darkness are on the sheet itself. */
export function preparationWarnings(p: Preparation): PreparationWarning[] {
  const warnings: PreparationWarning[] = [];
  const warn = (code: PreparationWarningCode, message: string): void => void warnings.push({ code, message });
  const { magnetic, rotation, exposure, payload } = p;
  const nanotesla = `${(Math.round(magnetic.horizontalNanotesla / 100) * 100).toFixed(0)} nT`;
  if (magnetic.use === 'useless') {
    warn(
      'compass-weak',
      `A compass is useless here: the horizontal field is only ${nanotesla}, and below 2000 nT the magnetic model is not valid. Find `
        + 'the meridian by the pole star, a chart or a satellite receiver.',
    );
  } else if (magnetic.use === 'caution') {
    warn(
      'compass-weak',
      `A compass is unreliable here: the horizontal field is only ${nanotesla} (6000 nT or more is needed). Check the meridian by the pole `
        + 'star, a chart or a satellite receiver.',
    );
  }
  if (!magnetic.inForce) {
    warn(
      'magnetic-model-years',
      'The magnetic model is valid from 2025.0 to 2030.0, and this night is outside: the bearing may be off by a degree and more. Check it '
        + 'with a model of the year.',
    );
  }
  if (p.scale > NEAR_EARTH_POLE) {
    warn(
      'near-earth-pole',
      'Within 10° of the Earth\'s pole azimuth hardly matters and rechecks from one frame are refused. Measure with rotation each time.',
    );
  } else if (p.scale < LOW_POLE) {
    warn(
      'low-pole',
      `The pole stands only ${(p.scale / DEGREE).toFixed(0)}° high: look for a clear horizon, and measure pressure and temperature.`,
    );
  }
  if (p.field && p.field.diagonalDeg > WIDEST_FIELD_DEG) {
    warn(
      'wide-field',
      `Frames are recognised up to about ${WIDEST_FIELD_DEG}° across, and this field has ${p.field.diagonalDeg.toFixed(0)}°. Use a longer `
        + 'focal length.',
    );
  }
  if (exposure?.fewStars) {
    warn(
      'few-stars',
      `Only about ${exposure.stars.toFixed(0)} catalogue stars will show, and a frame with fewer than seven is not recognised. `
        + (exposure.exposureSeconds < 60 && exposure.faintestMagnitude < 11
          ? 'Expose longer, or use more aperture.' : 'Use a shorter focal length, such as a guide scope, or a larger sensor.'),
    );
  }
  if (rotation && !rotation.reached) {
    const best = rotation.advised && Math.max(rotation.advised.precision.up, rotation.advised.precision.east);
    const wanted = p.precision >= ARCMINUTE ? `${(p.precision / ARCMINUTE).toFixed(1)}′` : `${(p.precision / ARCSECOND).toFixed(1)}″`;
    warn('precision-out-of-reach', best === null
      ? 'These frames would hold too few stars to be recognised, so no rotation can be planned. Take more sky into the frame.'
      : `No rotation up to 90° brings the uncertainty to ${wanted}; ${(best / ARCSECOND).toFixed(1)}″ is the least. Ask for less, or `
        + 'expose longer.');
  }
  if (payload && payload.verdict === 'over-rating') {
    warn('payload', 'The payload is over the mount\'s rating: drives slip and parts break. Take weight off before you use it.');
  } else if (payload && payload.verdict === 'over-half') {
    warn(
      'payload',
      'The payload is over half of the rating, within which long exposures usually go well (common practice). Expect wind and flexure to '
        + 'show, or take weight off.',
    );
  }
  return warnings;
}
