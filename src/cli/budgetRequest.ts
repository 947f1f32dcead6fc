import { PolewardError } from '../error.js';
import type { Session } from '../night/record/session.js';
import { readSession } from '../node/sessionFile.js';
import { findSession } from '../node/sessionPlace.js';
import type { RunRequest } from '../tasks/budget/budgetPlan.js';
import { sourced } from './given.js';
import type { RunOptions } from './runOptions.js';

/** The run that the options plan. */
export function runOf(options: RunOptions): RunRequest {
  return {
    declinationDeg: options.declination, hourAngleHours: options.hourAngle ?? null, rightAscensionHours: options.rightAscension ?? null,
    start: options.start ?? null, hours: options.hours, exposureSeconds: options.exposure,
    sensor: sourced(options.sensor, '--sensor') ?? null,
    guided: options.guided ?? false, guideOffsetDeg: options.guideOffset ?? null, limitPixels: options.limit ?? null,
    refraction: options.refraction,
  };
}

/**
 * The session to take an axis error from: the one named, else the newest in this folder; null where the error is given and no session is
 * named. Throws PolewardError `no-session` where one is needed and there is none.
 */
export function sessionForBudget(named: string | undefined, errorGiven: boolean): Session | null {
  if (errorGiven && named === undefined) return null;
  const place = findSession({ session: named, folder: process.cwd() });
  if (!place) {
    throw new PolewardError(
      'no-session',
      'No axis error is given and there is no session here to take it from. Give --altitude-error and --azimuth-error (arcmin), or '
        + 'measure first.',
    );
  }
  return readSession(place.path);
}
