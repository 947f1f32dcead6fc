import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { axisWithError } from '../../src/axis/axisError.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { poleDirections } from '../../src/run/misalignedMount.js';
import { guidedTrail, runView, unguidedTrail } from '../../src/run/runTrail.js';
import { type Planned, planOf } from './runPlans.js';

/** Made by testdata/run/make.py: invented cases by ERFA's spherical trigonometry, no rotation matrix. */
interface Case extends Planned {
  readonly altitudeErrorArcmin: number;
  readonly azimuthErrorArcmin: number;
  readonly driftArcsecPerExposure: number;
  readonly driftFirstExposureArcsec: number;
  readonly fieldRotationDeg?: number;
  readonly fieldRotationSpanDeg?: number;
  readonly largestRotationInExposureDeg?: number;
}
const CASES = JSON.parse(readFileSync(new URL('../../testdata/run/against-erfa.json', import.meta.url), 'utf8')) as Case[];

const title = (c: Case): string =>
  `latitude ${c.latitudeDeg}°, declination ${c.declinationDeg}°, error ${c.altitudeErrorArcmin}′ `
    + `${c.azimuthErrorArcmin}′${c.air ? ', air' : ''}`;

describe('runs against ERFA', () => {
  for (const c of CASES) {
    test(title(c), () => {
      const plan = planOf(c);
      const axis = axisWithError(poleDirections(plan).refractedPole, c.altitudeErrorArcmin * ARCMINUTE, c.azimuthErrorArcmin * ARCMINUTE);
      const view = runView(plan);
      const drift = unguidedTrail(view, axis).drift / ARCSECOND;
      // The air's constants differ from ERFA's by a part in a thousand or two (IAG 1999 against its refco); refraction's share is below 2″
      // here.
      expect(Math.abs(drift / c.driftArcsecPerExposure - 1)).toBeLessThan(c.air ? 3e-3 : 2e-4);
      if (c.fieldRotationDeg === undefined) return;
      const guided = guidedTrail(view, axis);
      expect(Math.abs(guided.fieldRotation) / DEGREE).toBeCloseTo(c.fieldRotationDeg, 6);
      expect(Math.abs(guided.fieldRotationSpan / DEGREE / c.fieldRotationSpanDeg! - 1)).toBeLessThan(1e-3);
      // A corner turns about the guide star: chord of the largest rotation in one exposure, on the plane of the picture.
      const chord = 2 * plan.cornerPixels * Math.sin((c.largestRotationInExposureDeg! * DEGREE) / 2);
      expect(Math.abs(guided.cornerPixels / chord - 1)).toBeLessThan(1e-3);
    });
  }
});
