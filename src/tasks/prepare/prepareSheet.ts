import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { ARCSECOND } from '../../geometry/angle.js';
import { type Preparation, type PreparationWarning, prepareNight, preparationWarnings } from '../../run/preparation.js';
import { usualFwhm } from '../../run/prepareExposure.js';
import type { PlannedCamera } from '../../run/prepareField.js';
import { USUAL_PRECISION } from '../../run/prepareRotation.js';
import type { StarCamera } from '../../run/prepareStars.js';
import { nightAt, nightOf } from '../../sky/darkness.js';
import { embeddedCatalogue } from '../../node/embeddedCatalogue.js';
import type { InForce } from '../given/inForce.js';
import type { PrepareOptions } from '../../cli/prepare.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';

/** The preparation with where each value came from. */
export interface PreparationSheet {
  readonly preparation: Preparation;
  readonly site: SiteInForce;
  /** East of UTC: of the clock that is shown. */
  readonly utcOffsetMinutes: Sourced<number>;
  readonly camera: CameraInForce;
  /** Options that would be needed for a forecast; empty where it is there. */
  readonly missing: readonly string[];
  /** Of payload and capacity, the one that is missing beside the other. */
  readonly missingWeight: '--payload' | '--capacity' | null;
  /** The exposure is the person's own. */
  readonly exposureGiven: boolean;
  readonly warnings: readonly PreparationWarning[];
}

/** Null: nothing says it, and nothing stands in for it. */
export interface CameraInForce {
  readonly focalLengthMillimetres: Sourced<number> | null;
  readonly pixelSizeMicrometres: Sourced<number> | null;
  readonly apertureMillimetres: Sourced<number> | null;
  readonly widthPixels: Sourced<number> | null;
  readonly heightPixels: Sourced<number> | null;
  readonly fwhmPixels: Sourced<number> | null;
  readonly skyMagnitude: Sourced<number>;
  readonly readNoiseElectrons: Sourced<number>;
}

/** A suburb, and a read noise that few cameras of the last ten years exceed (common values). */
const USUAL_SKY = 20;
const USUAL_READ_NOISE = 3;
const USUAL = 'not given, usual value';
/** No optics are faster. */
const FASTEST = 0.5;

/**
 * What `poleward prepare` shows.
 *
 * @param now decides which night is tonight
 * @throws PolewardError `bad-option` without a site, and with optics that can't be
 */
export function prepareSheet(options: PrepareOptions & InForce, now: Date): PreparationSheet {
  const site = siteInForce(options, []);
  if (!site) {
    throw new PolewardError('bad-option', 'Where you will observe is not known. Give --latitude and --longitude, or put the site into a rig file with: poleward rig --init');
  }
  const zone = options.given.utcOffsetMinutes;
  const night = options.date === undefined ? nightAt(now, site.site) : nightOf(new Date(options.date), site.site, zone?.value ?? null);
  const camera = cameraInForce(options);
  const { planned, stars, missing } = plannedCameras(camera);
  const { payload, capacity } = weights(options);
  const preparation = prepareNight({
    site: site.site, hemisphere: site.site.latitude < 0 ? -1 : 1, night,
    times: options.at?.map((minutes) => momentOf(minutes, night.noon, zone?.value ?? 0)) ?? null,
    aim: options.aim, camera: planned, starCamera: stars, exposureSeconds: options.exposure ?? null,
    precision: options.precision === undefined ? USUAL_PRECISION : options.precision * ARCSECOND,
    payload: payload !== undefined && capacity !== undefined ? { payloadKilograms: payload, capacityKilograms: capacity } : null,
    catalogue: embeddedCatalogue,
  });
  return {
    preparation, site, camera, missing,
    utcOffsetMinutes: zone ?? { value: 0, from: 'not given, UTC' },
    missingWeight: payload !== undefined && capacity === undefined ? '--capacity' : capacity !== undefined && payload === undefined ? '--payload' : null,
    exposureGiven: options.exposure !== undefined,
    warnings: preparationWarnings(preparation),
  };
}

function cameraInForce(options: PrepareOptions & InForce): CameraInForce {
  const rig = options.rigFile?.rig;
  const from = options.rigFile ? `rig file ${options.rigFile.path}` : '';
  const first = (option: number | undefined, name: string, inRig: number | undefined): Sourced<number> | null =>
    option !== undefined ? { value: option, from: name } : inRig !== undefined ? { value: inRig, from } : null;
  const { focalLengthMillimetres, pixelSizeMicrometres } = options.given;
  const usual = focalLengthMillimetres && pixelSizeMicrometres
    && { value: usualFwhm({ focalLengthMillimetres: focalLengthMillimetres.value, pixelSizeMicrometres: pixelSizeMicrometres.value }), from: '3″ of air, 2 px of optics' };
  return {
    focalLengthMillimetres, pixelSizeMicrometres,
    apertureMillimetres: first(options.aperture, '--aperture', rig?.camera?.apertureMillimetres),
    widthPixels: first(options.sensor?.width, '--sensor', rig?.camera?.widthPixels),
    heightPixels: first(options.sensor?.height, '--sensor', rig?.camera?.heightPixels),
    fwhmPixels: first(options.fwhm, '--fwhm', undefined) ?? usual,
    skyMagnitude: first(options.skyBrightness, '--sky-brightness', rig?.site?.skyMagnitude) ?? { value: USUAL_SKY, from: USUAL },
    readNoiseElectrons: first(options.readNoise, '--read-noise', rig?.camera?.readNoiseElectrons) ?? { value: USUAL_READ_NOISE, from: USUAL },
  };
}

/** The camera as far as it is known: for the field, and for stars. */
function plannedCameras(camera: CameraInForce): { planned: PlannedCamera | null; stars: StarCamera | null; missing: string[] } {
  const { focalLengthMillimetres: focal, pixelSizeMicrometres: pixel, widthPixels: width, heightPixels: height, apertureMillimetres: aperture } = camera;
  if (focal && aperture && focal.value < FASTEST * aperture.value) {
    throw new PolewardError('bad-option', `An aperture of ${aperture.value} mm at a focal length of ${focal.value} mm is faster than f/${FASTEST}, which no optics are. Check both.`);
  }
  const missing = [
    ...(focal ? [] : ['--focal-length']), ...(pixel ? [] : ['--pixel-size']), ...(width ? [] : ['--sensor']), ...(aperture ? [] : ['--aperture']),
  ];
  if (!focal || !pixel || !width || !height) return { planned: null, stars: null, missing };
  const planned = { focalLengthMillimetres: focal.value, pixelSizeMicrometres: pixel.value, width: width.value, height: height.value };
  return {
    planned, missing,
    stars: aperture && camera.fwhmPixels && {
      ...planned, apertureMillimetres: aperture.value, fwhmPixels: camera.fwhmPixels.value,
      skyMagnitude: camera.skyMagnitude.value, readNoiseElectrons: camera.readNoiseElectrons.value,
    },
  };
}

function weights(options: PrepareOptions & InForce): { payload: number | undefined; capacity: number | undefined } {
  const mount = options.rigFile?.rig.mount;
  return { payload: options.payload ?? mount?.payloadKilograms, capacity: options.capacity ?? mount?.capacityKilograms };
}

/** The moment within a day from `noon` at which a clock shows so many minutes after midnight. */
function momentOf(minutes: number, noon: Date, utcOffsetMinutes: number): Date {
  const day = 24 * 60;
  const atNoon = noon.getTime() / 60_000 + utcOffsetMinutes;
  const wait = (((minutes - atNoon) % day) + day) % day;
  return new Date(noon.getTime() + wait * 60_000);
}
