import { ARCMINUTE, ARCSECOND, DEGREE, wrapSigned } from '../../geometry/angle.js';
import type { AxisError } from '../../axis/axisError.js';
import { elongation } from '../../run/trailLimit.js';
import type { PlannedBudget } from './budgetPlan.js';
import { rounded } from '../measure/measurementJson.js';

/** The budget as `poleward/budget-1` (DESIGN: the JSON contract, and what was added). Angles in the units their names say. */
export function budgetJson(planned: PlannedBudget): Record<string, unknown> {
  const { budget, plan, limitPixels, sensor } = planned;
  const { unguided, guided, best } = budget;
  const arcmin = (e: AxisError) => ({
    altitudeArcmin: number(e.altitude / ARCMINUTE), azimuthArcmin: number(e.azimuth / ARCMINUTE),
    separationArcmin: number(e.separation / ARCMINUTE),
  });
  const atCorner = (value: number): number | null => (sensor ? number(value) : null);
  return {
    schema: 'poleward/budget-1',
    withinLimit: budget.withinLimit,
    guiding: planned.guiding ? 'guided' : 'unguided',
    trailPixels: number(budget.trail),
    trailSigmaPixels: budget.sigma === null ? null : number(budget.sigma),
    limitPixels,
    allowedErrorArcmin: number(budget.allowed / ARCMINUTE),
    allowedErrorThisDirectionArcmin: budget.allowedThisWay === null ? null : number(budget.allowedThisWay / ARCMINUTE),
    imageScaleArcsecPerPixel: number(plan.pixel / ARCSECOND),
    unguided: {
      driftArcsecPerExposure: number(unguided.drift / ARCSECOND),
      driftPixels: number(unguided.pixels),
      declinationArcsec: number(unguided.declination / ARCSECOND),
      rightAscensionArcsec: number(unguided.rightAscension / ARCSECOND),
      atHours: number(unguided.atHours),
      declinationArcsecPerMinute: number(unguided.declinationPerMinute / ARCSECOND),
      totalPixels: number(unguided.totalPixels),
    },
    guided: {
      // Between any two times of the run: a field that turns out and back also trails.
      fieldRotationDeg: number(guided.fieldRotationSpan / DEGREE),
      fieldRotationAtEndDeg: number(Math.abs(guided.fieldRotation) / DEGREE),
      fieldRotationSense: Math.abs(guided.fieldRotation) < 1e-9 ? null : guided.fieldRotation > 0 ? 'counter-clockwise' : 'clockwise',
      fieldRotationSpanDeg: number(guided.fieldRotationSpan / DEGREE),
      cornerTrailPixels: atCorner(guided.cornerPixels),
      atHours: sensor ? number(guided.atHours) : null,
      cornerTotalPixels: atCorner(guided.totalPixels),
    },
    trailOnPolePixels: number(budget.trailWithoutError),
    elongationOfThreePixelStar: number(elongation(budget.trail, 3)),
    knobs: {
      altitudePixelsPerArcmin: number(budget.perArcminute.altitude),
      azimuthPixelsPerArcmin: number(budget.perArcminute.azimuth),
      mattersMore: budget.perArcminute.altitude > budget.perArcminute.azimuth ? 'altitude' : 'azimuth',
    },
    bestAim: {
      fromTruePole: arcmin(best.fromTruePole),
      fromRefractedPole: arcmin(best.fromRefractedPole),
      isBetweenPoles: best.isBetween,
      searchEnded: best.atEdge ? 'at the edge' : 'inside',
      trailPixels: number(best.trail),
      trailAtTruePolePixels: number(best.trailAtTruePole),
      trailAtRefractedPolePixels: number(best.trailAtRefractedPole),
      betweenPoles: { shareFromTruePole: number(best.betweenPoles.share), trailPixels: number(best.betweenPoles.trail) },
    },
    axis: {
      aim: planned.aim, fromTruePole: arcmin(budget.fromTruePole), fromRefractedPole: arcmin(budget.fromRefractedPole),
      from: planned.error.from,
    },
    target: {
      declinationDeg: number(plan.target.declination / DEGREE), hourAngleHours: number(wrapSigned(plan.target.hourAngle) / DEGREE / 15),
      altitudeAtStartDeg: number(planned.altitudes[0] / DEGREE), altitudeAtEndDeg: number(planned.altitudes[1] / DEGREE),
    },
    run: { hours: plan.hours, exposureSeconds: plan.exposureSeconds, exposures: planned.exposures, refraction: plan.refraction.a !== 0 },
    optics: {
      focalLengthMillimetres: planned.focalLengthMillimetres, pixelSizeMicrometres: planned.pixelSizeMicrometres, sensor,
      guideOffsetDeg: planned.guiding ? number(plan.guideOffset / DEGREE) : null,
    },
    site: {
      latitudeDeg: planned.site.latitudeDeg, pressureHectopascal: planned.site.pressureHectopascal,
      temperatureCelsius: planned.site.temperatureCelsius,
    },
    warnings: planned.warnings,
  };
}

/** To a millionth: smaller digits are rounding. */
function number(value: number): number {
  return rounded(value, 6) + 0;
}
