import { attempt, PolewardError } from '../../error.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import { budgetOf } from '../budget/budgetPlan.js';
import type { Given } from '../given/given.js';

/** What the rig file's planned run allows, arcminutes; null without one, or where the rig gives too little to compute it. */
export function plannedLimit(given: Given): number | null {
  const run = given.rigFile?.rig.plannedRun;
  if (!run) return null;
  const planned = attempt(() => budgetOf({
    given, session: null, error: { value: { altitude: 0, azimuth: 0 }, from: 'none' },
    declinationDeg: run.declinationDeg, hourAngleHours: run.hourAngleHours, rightAscensionHours: null, start: null,
    hours: run.hours, exposureSeconds: run.exposureSeconds, sensor: null, guided: run.guideOffsetDeg !== undefined,
    guideOffsetDeg: run.guideOffsetDeg ?? null, limitPixels: run.limitPixels ?? null, refraction: true,
  }));
  if (planned instanceof PolewardError || !(planned.budget.allowed > 0)) return null;
  return planned.budget.allowed / ARCMINUTE;
}
