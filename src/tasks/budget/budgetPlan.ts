import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { ARCMINUTE, DEGREE } from '../../geometry/angle.js';
import { fromSpherical } from '../../geometry/vector.js';
import { type StarPlace, apparentDirection, placeOf } from '../../run/misalignedMount.js';
import { type KnobErrors, type RunBudget, runBudget } from '../../run/runBudget.js';
import type { RunPlan } from '../../run/runTrail.js';
import { USUAL_LIMIT_PIXELS } from '../../run/trailLimit.js';
import type { SessionSite } from '../../night/record/entry.js';
import { type Session, readSession } from '../../node/sessionFile.js';
import { placeToRead } from '../../node/sessionPlace.js';
import { tellStory } from '../../night/record/story.js';
import { makeLocalSky } from '../../sky/localSky.js';
import { NO_REFRACTION, siteRefraction, unrefractDirection } from '../../sky/refraction.js';
import type { BudgetOptions } from '../../cli/budget.js';
import type { InForce } from '../given/inForce.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';

/** A budget, with what it was made from and where that came from. */
export interface PlannedBudget {
  readonly budget: RunBudget;
  readonly plan: RunPlan;
  readonly aim: BudgetOptions['aim'];
  readonly guiding: boolean;
  readonly limitPixels: number;
  readonly error: Sourced<KnobErrors>;
  readonly site: SiteInForce;
  /** Longitude does not count for an hour angle. */
  readonly longitudeKnown: boolean;
  readonly sensor: Sourced<{ readonly width: number; readonly height: number }> | null;
  readonly focalLengthMillimetres: Sourced<number>;
  readonly pixelSizeMicrometres: Sourced<number>;
  readonly exposures: number;
  /** Of the target at the run's start and end, apparent, radians. */
  readonly altitudes: readonly [number, number];
  readonly warnings: readonly { readonly code: string; readonly message: string }[];
}

/** Below this apparent altitude (radians) refraction is not known well enough to count on. */
const LOW = 15 * DEGREE;
/** From the pole, radians, where guiding in right ascension does more harm than good. */
const NEAR_POLE = 1 * DEGREE;
/** Sigmas between trail and limit within which the verdict may be otherwise. */
const SURE = 2;

/** The budget that the options ask for. Throws PolewardError where something is missing or can't be. */
export function budgetOf(options: BudgetOptions & InForce): PlannedBudget {
  const session = sessionFor(options);
  const warnings: { code: string; message: string }[] = [];
  const { site, longitudeKnown } = siteFor(options, session?.start.site ?? null);
  const focalLengthMillimetres = options.given.focalLengthMillimetres;
  const pixelSizeMicrometres = options.given.pixelSizeMicrometres;
  if (!focalLengthMillimetres) throw missing('focal length is', '--focal-length', 'mm', 'focalLengthMillimetres');
  if (!pixelSizeMicrometres) throw missing('pixel size is', '--pixel-size', 'µm', 'pixelSizeMicrometres');
  if (options.exposure > options.hours * 3600 * (1 + 1e-9)) {
    throw new PolewardError('bad-option', `An exposure of ${options.exposure} s is longer than the run of ${options.hours} h (${Math.round(options.hours * 3600)} s). Make the run longer or the exposure shorter.`);
  }
  const guiding = options.guided === true || options.guideOffset !== undefined;
  const sensor = sensorFor(options);
  if (!sensor && guiding) {
    throw new PolewardError('bad-option', 'The sensor\'s size is unknown, and what field rotation does shows at its corners. Give --sensor, such as 4144x2822, or widthPixels and heightPixels in the rig file.');
  }
  const refraction = options.refraction ? siteRefraction(site.site) : NO_REFRACTION;
  const plan: RunPlan = {
    latitude: site.site.latitude, refraction, target: targetOf(options, site),
    hours: options.hours, exposureSeconds: options.exposure,
    pixel: pixelSizeMicrometres.value / (1000 * focalLengthMillimetres.value),
    cornerPixels: sensor ? Math.hypot(sensor.value.width, sensor.value.height) / 2 : 0,
    guideOffset: (options.guideOffset ?? 0) * DEGREE,
  };
  if (plan.cornerPixels * plan.pixel > Math.tan(80 * DEGREE)) {
    throw new PolewardError('bad-option', 'Focal length, pixel size and sensor make a field wider than a lens shows. Check --focal-length (mm), --pixel-size (µm) and --sensor (pixels).');
  }
  const altitudes = altitudesOf(plan, options.start ?? null);
  const error = errorFor(options, session, warnings);
  const limitPixels = options.limit ?? USUAL_LIMIT_PIXELS;
  const budget = runBudget(plan, error.value, options.aim, guiding, limitPixels);
  if (!Number.isFinite(budget.trail)) {
    throw new PolewardError('bad-option', 'So close to the pole this axis can\'t hold the guide star: its declination axis does not reach it. Align better first, or choose a target farther from the pole.');
  }
  if (Math.min(...altitudes) < LOW && options.refraction) {
    warnings.push({ code: 'low-target', message: `The target is only ${(Math.min(...altitudes) / DEGREE).toFixed(0)}° high in the run: the air there differs from any formula's, so trails may be longer.` });
  }
  if (guiding && Math.PI / 2 - Math.abs(plan.target.declination) < NEAR_POLE) {
    warnings.push({ code: 'near-pole', message: 'So close to the pole every correction in right ascension turns the field, and what is here depends on the axis\' last arcseconds. Guide in declination only, or not at all.' });
  } else if (budget.trailWithoutError > limitPixels) {
    warnings.push({ code: 'refraction-alone', message: `Even on the ${options.aim} pole the air alone makes ${pixels(budget.trailWithoutError)} px. Take shorter exposures or the target when it is higher.` });
  }
  if (budget.sigma !== null && budget.sigma > 0 && Math.abs(budget.trail - limitPixels) < SURE * budget.sigma) {
    warnings.push({ code: 'near-limit', message: `The limit is within two sigma of the trail (± ${pixels(budget.sigma)} px): the verdict may be otherwise.` });
  }
  return {
    budget, plan, aim: options.aim, guiding, limitPixels, error, site, longitudeKnown, sensor, focalLengthMillimetres, pixelSizeMicrometres,
    exposures: Math.floor((options.hours * 3600) / options.exposure + 1e-9), altitudes, warnings,
  };
}

/** A trail in pixels, with digits enough to compare it. */
export function pixels(value: number): string {
  return value >= 100 ? value.toFixed(0) : value >= 10 ? value.toFixed(1) : value.toFixed(2);
}

function missing(what: string, option: string, unit: string, field: string): PolewardError {
  return new PolewardError('bad-option', `The ${what} unknown, so nothing can be told in pixels. Give ${option} (${unit}), or ${field} under "camera" in the rig file.`);
}

/** The session that the error is to come from; null where the command line gives the error. */
function sessionFor(options: BudgetOptions): Session | null {
  const given = options.altitudeError !== undefined || options.azimuthError !== undefined;
  if (given && options.session === undefined) return null;
  let path: string;
  try {
    ({ path } = placeToRead({ session: options.session, folder: process.cwd() }));
  } catch (error) {
    if (!(error instanceof PolewardError) || error.code !== 'no-session' || options.session !== undefined) throw error;
    throw new PolewardError('no-session', 'No axis error is given and there is no session here to take it from. Give --altitude-error and --azimuth-error (arcmin), or measure first.');
  }
  const session = readSession(path);
  if (!session && !given) throw new PolewardError('no-session', `The session ${path} holds nothing yet. Measure first, or give --altitude-error and --azimuth-error (arcmin).`);
  return session;
}

function errorFor(options: BudgetOptions, session: Session | null, warnings: { code: string; message: string }[]): Sourced<KnobErrors> {
  if (options.altitudeError !== undefined || options.azimuthError !== undefined) {
    const one = options.altitudeError === undefined ? ', altitude 0 taken' : options.azimuthError === undefined ? ', azimuth 0 taken' : '';
    return {
      value: { altitude: (options.altitudeError ?? 0) * ARCMINUTE, azimuth: (options.azimuthError ?? 0) * ARCMINUTE, sigma: null },
      from: `command line${one}`,
    };
  }
  const { steps, turnsSince } = tellStory(session!.recorded);
  const last = session!.recorded.filter(({ entry }) => entry.kind === 'measurement').at(-1)?.entry;
  if (steps.length === 0 || last?.kind !== 'measurement') {
    throw new PolewardError('no-session', `The session ${session!.path} holds no measurement yet. Measure first, or give --altitude-error and --azimuth-error (arcmin).`);
  }
  const { fromTruePole, fromRefractedPole, sigma } = last.measurement.axis;
  const { altitudeArcmin, azimuthArcmin } = options.aim === 'true' || !options.refraction ? fromTruePole : fromRefractedPole;
  if (altitudeArcmin === null || azimuthArcmin === null) {
    throw new PolewardError('no-session', 'The session\'s measurement was made without a site, so it has no altitude and azimuth. Measure with --latitude and --longitude, or give --altitude-error and --azimuth-error (arcmin).');
  }
  if (turnsSince.length > 0) {
    warnings.push({ code: 'knob-turned', message: 'A knob was turned since the session\'s last look, so its error is no longer the axis\'. Look again first.' });
  }
  return {
    value: {
      altitude: altitudeArcmin * ARCMINUTE, azimuth: azimuthArcmin * ARCMINUTE,
      sigma: sigma.altitudeArcmin === null || sigma.azimuthArcmin === null ? null
        : { altitude: sigma.altitudeArcmin * ARCMINUTE, azimuth: sigma.azimuthArcmin * ARCMINUTE },
    },
    from: `session, ${last.how === 'rotation' ? 'measured' : 'rechecked'} ${last.at.slice(0, 16).replace('T', ' ')} UTC`,
  };
}

function siteFor(options: BudgetOptions & InForce, session: SessionSite | null): { site: SiteInForce; longitudeKnown: boolean } {
  const site = siteInForce(options, [], session);
  if (site) return { site, longitudeKnown: true };
  const latitude = options.given.latitudeDeg ?? (options.latitude === undefined ? null : { value: options.latitude, from: '--latitude' });
  if (!latitude) throw new PolewardError('bad-option', 'The latitude is unknown, and all depends on it. Give --latitude (degrees), or a site in the rig file.');
  if (options.rightAscension !== undefined) {
    throw new PolewardError('bad-option', 'The longitude is unknown, and a right ascension needs it. Give --longitude (degrees, east positive), or --hour-angle instead.');
  }
  return { site: siteInForce({ ...options, longitude: 0 }, [], null)!, longitudeKnown: false };
}

function sensorFor(options: BudgetOptions & InForce): PlannedBudget['sensor'] {
  if (options.sensor) return { value: options.sensor, from: '--sensor' };
  const camera = options.rigFile?.rig.camera;
  if (camera?.widthPixels === undefined || camera.heightPixels === undefined) return null;
  return { value: { width: camera.widthPixels, height: camera.heightPixels }, from: `rig file ${options.rigFile!.path}` };
}

/** The target's apparent place of date at the start. */
function targetOf(options: BudgetOptions, { site }: SiteInForce): StarPlace {
  const { hourAngle, rightAscension, start } = options;
  if (hourAngle !== undefined && rightAscension !== undefined) {
    throw new PolewardError('bad-option', 'Hour angle and right ascension are both given. Give --hour-angle, or --right-ascension with --start.');
  }
  if (hourAngle !== undefined) return { hourAngle: hourAngle * 15 * DEGREE, declination: options.declination * DEGREE };
  if (rightAscension === undefined) {
    throw new PolewardError('bad-option', 'Where the target stands at the start is unknown. Give --hour-angle (h), or --right-ascension (h) with --start (UTC).');
  }
  if (!start) throw new PolewardError('bad-option', 'A right ascension needs the time at which the run begins. Give --start (UTC), such as 2026-11-25T20:00.');
  const sky = makeLocalSky(start, site);
  const seen = sky.toLocal(fromSpherical(rightAscension * 15 * DEGREE, options.declination * DEGREE));
  return placeOf(unrefractDirection(sky.refraction, seen), site.latitude);
}

/** Altitudes at start and end; throws where the target is under the horizon at either or between. */
function altitudesOf(plan: RunPlan, start: Date | null): [number, number] {
  const at = (hours: number): number => Math.asin(apparentDirection(plan, plan.target, hours)[2]);
  const first = at(0);
  const other = start ? 'start' : 'hour angle';
  if (first < 0) {
    throw new PolewardError('bad-option', `The target is ${(-first / DEGREE).toFixed(0)}° below the horizon at the start. Choose another ${other} or another target.`);
  }
  for (let step = 1; step <= 240; step++) {
    const hours = (plan.hours * step) / 240;
    if (at(hours) < 0) throw new PolewardError('bad-option', `The target sets ${hours.toFixed(1)} h after the start. Make the run shorter, or choose another ${other}.`);
  }
  return [first, at(plan.hours)];
}
