import { PolewardError } from '../../error.js';
import { minutesAt } from '../../frames/cameraZone.js';
import type { Sourced } from '../../frames/frame.js';
import { type Preparation, type PreparationWarning, prepareNight, preparationWarnings } from '../../run/preparation.js';
import { usualFwhm } from '../../run/prepareExposure.js';
import type { PlannedCamera } from '../../run/prepareField.js';
import { USUAL_PRECISION } from '../../run/prepareRotation.js';
import type { StarCamera } from '../../run/prepareStars.js';
import { nightAt, nightOf } from '../../sky/darkness.js';
import type { Remedy } from '../../remedy.js';
import type { Catalogue } from '../../sky/catalogue.js';
import type { Given } from '../given/given.js';
import { type RigInForce, rigSource } from '../given/rigInForce.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';

/** The request for a night's sheet. */
export interface PrepareRequest {
  readonly given: Given;
  /** Midnight UTC of the calendar day, ms since 1970; null: tonight. */
  readonly date: number | null;
  /** Minutes of the day, on the clock of the sheet, for which the pole star is wanted; null: every hour from dark on. */
  readonly at: readonly number[] | null;
  /** What the person said of the camera beside `given`. */
  readonly camera: {
    readonly [Name in Exclude<keyof CameraInForce, 'focalLengthMillimetres' | 'pixelSizeMicrometres'>]?: Sourced<number> | undefined;
  };
  /** The person's own exposure, to be forecast; null: one is suggested. */
  readonly exposureSeconds: number | null;
  /** The wanted one-sigma uncertainty of the axis, radians; null: the usual one. */
  readonly precision: number | null;
  readonly payloadKilograms: number | null;
  readonly capacityKilograms: number | null;
}

/** The preparation with the source of each value. */
export interface PreparationSheet {
  readonly preparation: Preparation;
  readonly site: SiteInForce;
  /** East of UTC: of the clock that is shown. */
  readonly utcOffsetMinutes: Sourced<number>;
  /** Person or rig file give that clock's zone; else it is UTC. */
  readonly zoneGiven: boolean;
  readonly camera: CameraInForce;
  /** What a forecast still needs; empty where it is complete. */
  readonly missing: readonly Remedy[];
  /** The one of payload and capacity that is missing where the other is given. */
  readonly missingWeight: 'give-payload' | 'give-capacity' | null;
  readonly rigFile: RigInForce | null;
  /** The exposure is the person's own. */
  readonly exposureGiven: boolean;
  readonly warnings: readonly PreparationWarning[];
}

/** Null: no source gives it, and there is no usual value. */
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

/** The sky of a suburb, and a read noise that few cameras of the last ten years exceed (common values). */
const USUAL_SKY = 20;
const USUAL_READ_NOISE = 3;
const USUAL = 'not given, usual value';
/** No optics are faster. */
const FASTEST = 0.5;

/**
 * The sheet for a night.
 *
 * @param now decides which night is tonight
 * @param catalogue called where stars are forecast
 * @throws PolewardError `bad-option` without a site, and with impossible optics
 */
export function prepareSheet(request: PrepareRequest, now: Date, catalogue: () => Catalogue): PreparationSheet {
  const { given } = request;
  const site = siteInForce(given, []);
  if (!site) {
    throw new PolewardError(
      'bad-option', 'Where you will observe is not known. Give latitude and longitude, or put the site into a rig file.',
      { remedies: ['give-site', 'make-rig'] },
    );
  }
  const zone = zoneAt(given, request.date === null ? now : new Date(request.date + NOON));
  const night = request.date === null ? nightAt(now, site.site) : nightOf(new Date(request.date), site.site, zone?.value ?? null);
  const camera = cameraInForce(request);
  const { planned, stars, missing } = plannedCameras(camera);
  const { payload, capacity } = weights(request);
  const preparation = prepareNight({
    site: site.site, hemisphere: site.site.latitude < 0 ? -1 : 1, night,
    times: request.at?.map((minutes) => momentOf(minutes, night.noon, zone?.value ?? 0)) ?? null,
    aim: given.aim, camera: planned, starCamera: stars, exposureSeconds: request.exposureSeconds,
    precision: request.precision ?? USUAL_PRECISION,
    payload: payload !== undefined && capacity !== undefined ? { payloadKilograms: payload, capacityKilograms: capacity } : null,
    catalogue,
  });
  return {
    preparation, site, camera, missing, rigFile: given.rigFile,
    utcOffsetMinutes: zone ?? { value: 0, from: 'not given, UTC' }, zoneGiven: zone !== null,
    missingWeight: payload !== undefined && capacity === undefined
      ? 'give-capacity'
      : capacity !== undefined && payload === undefined ? 'give-payload' : null,
    exposureGiven: request.exposureSeconds !== null,
    warnings: preparationWarnings(preparation),
  };
}

/** Minutes; in use during the day that a date alone names. */
const NOON = 12 * 3_600_000;

/** The offset from UTC that applies on that evening. */
function zoneAt({ utcOffsetMinutes, zoneName }: Given, moment: Date): Sourced<number> | null {
  return zoneName ? { value: minutesAt(zoneName.value, moment.getTime()), from: `${zoneName.value}, ${zoneName.from}` } : utcOffsetMinutes;
}

function cameraInForce({ given, camera: said }: PrepareRequest): CameraInForce {
  const rig = given.rigFile?.rig;
  const from = given.rigFile ? rigSource(given.rigFile) : '';
  const first = (value: Sourced<number> | undefined, inRig: number | undefined): Sourced<number> | null =>
    value ?? (inRig === undefined ? null : { value: inRig, from });
  const { focalLengthMillimetres, pixelSizeMicrometres } = given;
  const usual = focalLengthMillimetres && pixelSizeMicrometres
    && {
      value: usualFwhm({ focalLengthMillimetres: focalLengthMillimetres.value, pixelSizeMicrometres: pixelSizeMicrometres.value }),
      from: '3″ of air, 2 px of optics',
    };
  return {
    focalLengthMillimetres, pixelSizeMicrometres,
    apertureMillimetres: first(said.apertureMillimetres, rig?.camera?.apertureMillimetres),
    widthPixels: first(said.widthPixels, rig?.camera?.widthPixels),
    heightPixels: first(said.heightPixels, rig?.camera?.heightPixels),
    fwhmPixels: said.fwhmPixels ?? usual,
    skyMagnitude: first(said.skyMagnitude, rig?.site?.skyMagnitude) ?? { value: USUAL_SKY, from: USUAL },
    readNoiseElectrons: first(said.readNoiseElectrons, rig?.camera?.readNoiseElectrons) ?? { value: USUAL_READ_NOISE, from: USUAL },
  };
}

/** The camera as far as it is known: for the field, and for stars. */
function plannedCameras(camera: CameraInForce): { planned: PlannedCamera | null; stars: StarCamera | null; missing: Remedy[] } {
  const {
    focalLengthMillimetres: focal, pixelSizeMicrometres: pixel, widthPixels: width, heightPixels: height, apertureMillimetres: aperture,
  } = camera;
  if (focal && aperture && focal.value < FASTEST * aperture.value) {
    throw new PolewardError(
      'bad-option',
      `An aperture of ${aperture.value} mm at a focal length of ${focal.value} mm is faster than f/${FASTEST}, which no optics are. `
        + 'Check both.',
    );
  }
  const needed: [Remedy, unknown][] = [
    ['give-focal-length', focal], ['give-pixel-size', pixel], ['give-sensor', width], ['give-aperture', aperture],
  ];
  const missing = needed.filter(([, value]) => !value).map(([remedy]) => remedy);
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

function weights(
  { given, payloadKilograms, capacityKilograms }: PrepareRequest,
): { payload: number | undefined; capacity: number | undefined } {
  const mount = given.rigFile?.rig.mount;
  return { payload: payloadKilograms ?? mount?.payloadKilograms, capacity: capacityKilograms ?? mount?.capacityKilograms };
}

/** The time within a day from `noon` at which a clock shows this many minutes after midnight. */
function momentOf(minutes: number, noon: Date, utcOffsetMinutes: number): Date {
  const day = 24 * 60;
  const atNoon = noon.getTime() / 60_000 + utcOffsetMinutes;
  const wait = (((minutes - atNoon) % day) + day) % day;
  return new Date(noon.getTime() + wait * 60_000);
}
