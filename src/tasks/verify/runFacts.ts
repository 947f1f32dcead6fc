import { DEGREE } from '../../geometry/angle.js';
import type { FieldShape } from '../../run/fieldShape.js';
import type { Guiding } from '../../run/impliedAxis.js';
import type { RunFacts } from '../../run/runVerdict.js';
import { type TrailShape, trailShape } from '../../run/trailShape.js';
import { SIDEREAL_RATE } from '../../sky/siderealRate.js';
import { type DriftParts, shareOf } from './axisParts.js';
import type { FieldOnSky } from './fieldOnSky.js';
import { skyScatter } from './onSky.js';
import { ownErrorsExplain } from './ownErrors.js';
import type { TrackedRun } from './trackedRun.js';

/** The trail that a drift makes in one exposure. Null where the exposure is unknown. */
export interface ExposureTrail {
  readonly driftPixels: number | null;
  readonly cornerPixels: number | null;
  readonly trail: TrailShape | null;
}

export function exposureTrail({ drift, field }: TrackedRun, shape: FieldShape, seconds: number | null): ExposureTrail {
  if (seconds === null) return { driftPixels: null, cornerPixels: null, trail: null };
  const { x, y, rotation } = drift;
  return {
    driftPixels: Math.hypot(x.rate, y.rate) * seconds,
    cornerPixels: (Math.abs(rotation.rate) * seconds * Math.hypot(field.width, field.height)) / 2,
    trail: shape.whole && trailShape(shape.whole, x.rate * seconds, y.rate * seconds),
  };
}

/** A field that drifts by more than this share of the sky's own rate was not tracked. */
const NOT_TRACKING = 0.4;

/** What the verdict on a run depends on. `framesGiven`: including those that could not be used. */
export function runFacts(
  run: TrackedRun, { target, orientation, lens }: FieldOnSky, parts: DriftParts | null, shape: FieldShape, made: ExposureTrail,
  known: { readonly guiding: Guiding; readonly exposureSeconds: number | null; readonly limitPixels: number; readonly framesGiven: number },
): RunFacts {
  const { drift } = run;
  const { x, y } = drift;
  const pace = target ? Math.max(0.02, Math.cos(target.declinationDeg * DEGREE)) : 1;
  const corners = Object.entries(shape.regions).flatMap(([name, r]) => (r && name !== 'centre' ? [r] : []));
  const [worst] = corners.sort((a, b) => b.elongation - a.elongation);
  const { centre } = shape.regions;
  return {
    limitPixels: known.limitPixels, exposureSeconds: known.exposureSeconds, driftPixels: made.driftPixels, cornerPixels: made.cornerPixels,
    axisShare: parts && shareOf(parts.axis, { x: x.rate, y: y.rate }),
    notTracking: lens !== null && Math.hypot(x.rate, y.rate) / lens.focalPixels > NOT_TRACKING * SIDEREAL_RATE * pace,
    wanderPixels: ownErrorsExplain(run) ? 0 : Math.hypot(x.scatter, y.scatter) / (x.freedom > 2 ? 1 : 2),
    wanderAlong: orientation && skyScatter(drift, orientation),
    guided: known.guiding === 'guided', framesGiven: known.framesGiven, framesUsed: drift.frames.length,
    elongation: shape.whole?.elongation ?? null, elongationSigma: shape.whole?.elongationSigma ?? 0,
    elongationByDrift: made.trail?.share ?? 0,
    worstCorner: worst ? { elongation: worst.elongation, sigma: worst.elongationSigma } : null,
    middle: centre && { elongation: centre.elongation, sigma: centre.elongationSigma },
  };
}
