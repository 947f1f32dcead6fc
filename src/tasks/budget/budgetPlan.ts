import type { Aim } from '../../axis/aim.js';
import { type ErrorData, PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { DEGREE } from '../../geometry/angle.js';
import { fromSpherical } from '../../geometry/vector.js';
import { type StarPlace, apparentDirection, placeOf } from '../../run/misalignedMount.js';
import { type KnobErrors, type RunBudget, runBudget } from '../../run/runBudget.js';
import type { RunPlan } from '../../run/runTrail.js';
import { USUAL_LIMIT_PIXELS } from '../../run/trailLimit.js';
import { type SessionSite, isTurnedSince } from '../../night/record/entry.js';
import type { Session } from '../../night/record/session.js';
import { damageWarnings } from '../../night/record/damage.js';
import { lastAxis } from '../../night/record/lastAxis.js';
import { makeLocalSky } from '../../sky/localSky.js';
import { NO_REFRACTION, siteRefraction, unrefractDirection } from '../../sky/refraction.js';
import { ofAim } from '../../axis/aim.js';
import type { Remedy } from '../../remedy.js';
import type { Given } from '../given/given.js';
import { rigSource } from '../given/rigInForce.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';

/** A planned run, and the source of its axis error. */
export interface BudgetRequest extends RunRequest {
  readonly given: Given;
  /** From the aimed pole, radians; null: the session's last. If one knob's error is given alone, the other is 0. */
  readonly error: Sourced<{ readonly altitude: number | null; readonly azimuth: number | null }> | null;
  /** Null: there is none, or the error is given. */
  readonly session: Session | null;
}

/** A run that is planned. */
export interface RunRequest {
  readonly declinationDeg: number;
  /** At the start, west positive. */
  readonly hourAngleHours: number | null;
  /** ICRS, with `start` instead of the hour angle. */
  readonly rightAscensionHours: number | null;
  readonly start: Date | null;
  readonly hours: number;
  readonly exposureSeconds: number;
  readonly sensor: Sourced<{ readonly width: number; readonly height: number }> | null;
  readonly guided: boolean;
  /** Of the guide star from the middle of the field; a run with one is guided. */
  readonly guideOffsetDeg: number | null;
  readonly limitPixels: number | null;
  readonly refraction: boolean;
}

/** A budget, with what it was made from and where that came from. */
export interface PlannedBudget {
  readonly budget: RunBudget;
  readonly plan: RunPlan;
  readonly aim: Aim;
  readonly guiding: boolean;
  readonly limitPixels: number;
  readonly error: Sourced<KnobErrors>;
  readonly site: SiteInForce;
  /** A given hour angle does not need the longitude. */
  readonly longitudeKnown: boolean;
  readonly sensor: Sourced<{ readonly width: number; readonly height: number }> | null;
  readonly focalLengthMillimetres: Sourced<number>;
  readonly pixelSizeMicrometres: Sourced<number>;
  readonly exposures: number;
  /** Of the target at the run's start and end, apparent, radians. */
  readonly altitudes: readonly [number, number];
  readonly warnings: readonly BudgetWarning[];
}

export interface BudgetWarning {
  readonly code: 'record-damaged' | 'knob-turned' | 'low-target' | 'near-pole' | 'refraction-alone' | 'near-limit';
  readonly message: string;
}

/** Below this apparent altitude (radians) refraction can't be predicted well. */
const LOW = 15 * DEGREE;
/** Distance from the pole, radians, within which guiding in right ascension does more harm than good. */
const NEAR_POLE = 1 * DEGREE;
/** If trail and limit differ by fewer sigmas than this, the verdict may be wrong. */
const SURE = 2;

/** The budget of a run. Throws PolewardError where something is missing or impossible. */
export function budgetOf(request: BudgetRequest): PlannedBudget {
  const { given, session, hours, exposureSeconds } = request;
  const { aim, focalLengthMillimetres, pixelSizeMicrometres } = given;
  const { site, longitudeKnown } = siteFor(request, session?.start.site ?? null);
  if (!focalLengthMillimetres) throw missing('focal length', 'mm', 'focalLengthMillimetres', 'give-focal-length');
  if (!pixelSizeMicrometres) throw missing('pixel size', 'µm', 'pixelSizeMicrometres', 'give-pixel-size');
  if (exposureSeconds > hours * 3600 * (1 + 1e-9)) {
    throw new PolewardError(
      'bad-option',
      `An exposure of ${exposureSeconds} s is longer than the run of ${hours} h (${Math.round(hours * 3600)} s). Make the run longer or `
        + 'the exposure shorter.',
    );
  }
  const guiding = request.guided || request.guideOffsetDeg !== null;
  const sensor = sensorFor(request);
  if (!sensor && guiding) {
    throw new PolewardError(
      'bad-option',
      'The sensor\'s size is unknown, and field rotation shows at its corners. Give it in pixels, such as 4144x2822, or as '
        + 'widthPixels and heightPixels in the rig file.',
      { remedies: ['give-sensor'] },
    );
  }
  const refraction = request.refraction ? siteRefraction(site.site) : NO_REFRACTION;
  const plan: RunPlan = {
    latitude: site.site.latitude, refraction, target: targetOf(request, site), hours, exposureSeconds,
    pixel: pixelSizeMicrometres.value / (1000 * focalLengthMillimetres.value),
    cornerPixels: sensor ? Math.hypot(sensor.value.width, sensor.value.height) / 2 : 0,
    guideOffset: (request.guideOffsetDeg ?? 0) * DEGREE,
  };
  if (plan.cornerPixels * plan.pixel > Math.tan(80 * DEGREE)) {
    throw new PolewardError('bad-option', 'Focal length, pixel size and sensor give a field wider than any lens shows. Check focal length '
      + '(mm), pixel size (µm) and sensor (pixels).',
      { remedies: ['give-focal-length', 'give-pixel-size', 'give-sensor'] });
  }
  const altitudes = altitudesOf(plan, request.start);
  const error = errorFor(request);
  const limitPixels = request.limitPixels ?? USUAL_LIMIT_PIXELS;
  const budget = runBudget(plan, error.value, aim, guiding, limitPixels);
  if (!Number.isFinite(budget.trail)) {
    throw new PolewardError(
      'bad-option',
      'The target is so close to the pole that a mount with this axis error can\'t point at the guide star. Reduce the axis error first, '
        + 'or choose a target farther from the pole.',
    );
  }
  return {
    budget, plan, aim, guiding, limitPixels, error, site, longitudeKnown, sensor, focalLengthMillimetres, pixelSizeMicrometres,
    exposures: Math.floor((hours * 3600) / exposureSeconds + 1e-9), altitudes,
    warnings: warningsOf(request, budget, guiding, limitPixels, plan, altitudes),
  };
}

/** A trail in pixels, with enough digits to compare it. */
export function pixels(value: number): string {
  return value >= 100 ? value.toFixed(0) : value >= 10 ? value.toFixed(1) : value.toFixed(2);
}

/** What makes the verdict uncertain, or what the run can't do. */
function warningsOf(
  { error, session, given: { aim }, refraction }: BudgetRequest, budget: RunBudget, guiding: boolean, limitPixels: number, plan: RunPlan,
  altitudes: readonly [number, number],
): BudgetWarning[] {
  const warnings: BudgetWarning[] = error === null && session
    ? damageWarnings(session).map(({ message }) => ({ code: 'record-damaged', message })) : [];
  if (error === null && session && isTurnedSince(session.recorded)) {
    warnings.push({
      code: 'knob-turned',
      message: 'A knob was turned since the session\'s last look, so its error is no longer the axis\'. Look again first.',
    });
  }
  if (Math.min(...altitudes) < LOW && refraction) {
    warnings.push({
      code: 'low-target',
      message: `The target is only ${(Math.min(...altitudes) / DEGREE).toFixed(0)}° high in the run: refraction there is hard to `
        + 'predict, so trails may be longer.',
    });
  }
  if (guiding && Math.PI / 2 - Math.abs(plan.target.declination) < NEAR_POLE) {
    warnings.push({
      code: 'near-pole',
      message: 'So close to the pole every correction in right ascension turns the field, and these figures change with every '
        + 'arcsecond of the axis error. Guide in declination only, or not at all.',
    });
  } else if (budget.trailWithoutError > limitPixels) {
    warnings.push({
      code: 'refraction-alone',
      message: `Even with the axis on the ${aim} pole the air alone makes a trail of ${pixels(budget.trailWithoutError)} px. Take `
        + 'shorter exposures, or the target when it is higher.',
    });
  }
  if (budget.sigma !== null && budget.sigma > 0 && Math.abs(budget.trail - limitPixels) < SURE * budget.sigma) {
    warnings.push({
      code: 'near-limit',
      message: `The trail is within two sigma (± ${pixels(budget.sigma)} px) of the limit: the verdict may be wrong.`,
    });
  }
  return warnings;
}

function missing(what: string, unit: string, field: string, remedy: Remedy): PolewardError {
  return new PolewardError(
    'bad-option',
    `The ${what} is unknown, so no trail can be computed in pixels. Give it in ${unit}, or as ${field} under "camera" in the rig file.`,
    { remedies: [remedy] },
  );
}

function errorFor({ error, session, given: { aim }, refraction }: BudgetRequest): Sourced<KnobErrors> {
  if (error) {
    const { altitude, azimuth } = error.value;
    const one = altitude === null ? ', altitude 0 taken' : azimuth === null ? ', azimuth 0 taken' : '';
    return { value: { altitude: altitude ?? 0, azimuth: azimuth ?? 0, sigma: null }, from: `${error.from}${one}` };
  }
  if (!session || !session.recorded.some(({ entry }) => entry.kind === 'look' || entry.kind === 'measurement')) {
    const why = session ? `The session ${session.path} holds no measurement yet.` : 'No axis error is given and there is no session '
      + 'to take it from.';
    throw new PolewardError('no-session', `${why} Measure first, or give altitude and azimuth error `
      + `(arcmin).`, { remedies: ['give-axis-error'] });
  }
  const pole: Aim = refraction ? aim : 'true';
  const last = lastAxis(session, pole);
  if (!last) {
    throw new PolewardError('no-session', 'The session does not show altitude and azimuth of the axis: its frames were not turned, or '
      + 'the site is unknown. Measure with the site, or give altitude and azimuth error (arcmin).',
      { remedies: ['give-site', 'give-axis-error'] });
  }
  const { altitude, azimuth } = ofAim(pole, last.fromTruePole, last.fromRefractedPole);
  return {
    value: { altitude, azimuth, sigma: { altitude: last.sigma.altitude, azimuth: last.sigma.azimuth } },
    from: `session, ${last.utc.slice(0, 16).replace('T', ' ')} UTC`,
  };
}

function siteFor(
  { given, rightAscensionHours }: BudgetRequest, session: SessionSite | null,
): { site: SiteInForce; longitudeKnown: boolean } {
  const site = siteInForce(given, [], session);
  if (site) return { site, longitudeKnown: true };
  if (!given.latitudeDeg) {
    throw new PolewardError(
      'bad-option', 'The latitude is unknown, and everything depends on it. Give it (degrees), or a site in the rig file.',
      { remedies: ['give-latitude'] },
    );
  }
  if (rightAscensionHours !== null) {
    throw new PolewardError('bad-option', 'The longitude is unknown, and a right ascension needs it. Give it (degrees, east positive), or '
      + 'the hour angle instead.',
      { remedies: ['give-longitude', 'give-hour-angle'] });
  }
  return { site: siteInForce({ ...given, longitudeDeg: { value: 0, from: 'not given' } }, [])!, longitudeKnown: false };
}

function sensorFor({ sensor, given: { rigFile } }: BudgetRequest): PlannedBudget['sensor'] {
  if (sensor) return sensor;
  const camera = rigFile?.rig.camera;
  if (camera?.widthPixels === undefined || camera.heightPixels === undefined) return null;
  return { value: { width: camera.widthPixels, height: camera.heightPixels }, from: rigSource(rigFile!) };
}

/** The target's apparent place of date at the start. */
function targetOf({ hourAngleHours, rightAscensionHours, start, declinationDeg }: RunRequest, { site }: SiteInForce): StarPlace {
  const either: ErrorData = { remedies: ['give-hour-angle', 'give-right-ascension', 'give-start'] };
  if (hourAngleHours !== null && rightAscensionHours !== null) {
    throw new PolewardError(
      'bad-option', 'Hour angle and right ascension are both given. Give the hour angle, or the right ascension with the start.', either,
    );
  }
  if (hourAngleHours !== null) return { hourAngle: hourAngleHours * 15 * DEGREE, declination: declinationDeg * DEGREE };
  if (rightAscensionHours === null) {
    throw new PolewardError(
      'bad-option',
      'Where the target is at the start is unknown. Give the hour angle in hours, or the right ascension with the start in UTC.',
      either,
    );
  }
  if (!start) {
    throw new PolewardError(
      'bad-option', 'A right ascension needs the start of the run. Give the start in UTC, such as 2026-11-25T20:00.',
      { remedies: ['give-start'] },
    );
  }
  const sky = makeLocalSky(start, site);
  const seen = sky.toLocal(fromSpherical(rightAscensionHours * 15 * DEGREE, declinationDeg * DEGREE));
  return placeOf(unrefractDirection(sky.refraction, seen), site.latitude);
}

/** Altitudes at start and end; throws where the target is below the horizon at either or in between. */
function altitudesOf(plan: RunPlan, start: Date | null): [number, number] {
  const at = (hours: number): number => Math.asin(apparentDirection(plan, plan.target, hours)[2]);
  const first = at(0);
  const other = start ? 'start' : 'hour angle';
  if (first < 0) {
    throw new PolewardError(
      'bad-option',
      `The target is ${(-first / DEGREE).toFixed(0)}° below the horizon at the start. Choose another ${other} or another target.`,
    );
  }
  for (let step = 1; step <= 240; step++) {
    const hours = (plan.hours * step) / 240;
    if (at(hours) < 0) throw new PolewardError(
      'bad-option', `The target sets ${hours.toFixed(1)} h after the start. Make the run shorter, or choose another ${other}.`,
    );
  }
  return [first, at(plan.hours)];
}
