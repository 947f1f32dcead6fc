import type { Rotation } from '../geometry/rotation.js';
import { angleBetween } from '../geometry/vector.js';
import { cauchyCost } from '../identify/cauchyLoss.js';
import { axisFromPoses } from './axisFromPoses.js';
import { type MountEstimate, bestFit } from './estimateMount.js';
import { type JointFit, jointFit } from './jointFit.js';
import { regrouped } from './mountModel.js';

/** The result of testing whether the poses of three or more frames fit one rotation. */
export interface Disagreement {
  /** The frame that disagrees; null where no single one does, or where three frames can't show which. */
  readonly frame: number | null;
  /** How far the camera had moved on the mount in that frame, radians (in the last frame where it is null). */
  readonly slip: number;
  /** One-sigma error of the slip, radians. */
  readonly sigma: number;
  /** Chi-squared of the disagreement for each degree of freedom: 1 on average where there is none. */
  readonly perFreedom: number;
}

/** The quantile of the normal distribution for a false alarm of 0.3 %. */
const ALARM = 2.75;

/**
 * Tests whether one rotation fits all frames. Each frame beyond the second adds two degrees of freedom: in turn each camera gets a place of
 * its own on the mount, and the fall in chi-squared is tested. Null where the frames agree.
 *
 * @param estimate of all frames as one stance and mounting
 * @param poses each frame's own pose, independent of the others
 */
export function findDisagreement(
  estimate: MountEstimate, poses: readonly Rotation[],
): (Disagreement & { readonly without: MountEstimate | null }) | null {
  const { fit, choice, sightings, width } = estimate;
  const n = poses.length;
  if (n < 3) return null;
  const apart = (moved: readonly number[]): JointFit | null => jointFit(sightings, startApart(fit, poses, moved), choice, width);
  const free = apart(Array.from({ length: n - 2 }, (_, i) => i + 2));
  if (!free) return null;
  const excess = Math.max(1, free.chiSquared / free.expected) * cauchyCost(1);
  const freedom = 2 * (n - 2);
  const gain = (fit.chiSquared - free.chiSquared) / excess;
  if (!(gain > quantile(freedom))) return null;

  const alone = poses.map((_, k) => apart([k]));
  let best = n - 1;
  alone.forEach((f, k) => { if (f && f.chiSquared < (alone[best]?.chiSquared ?? Infinity)) best = k; });
  const culprit = alone[best];
  const explained = n > 3 && culprit !== null && culprit !== undefined &&
    (culprit.chiSquared - free.chiSquared) / excess < quantile(freedom - 2);
  const shown = explained ? best : n - 1;
  const slip = alone[shown];
  const without = explained ? bestFit(sightings, culprit, width) : null;
  return {
    frame: explained ? best : null,
    ...(slip ? slipOf(slip, shown, Math.sqrt(excess / cauchyCost(1))) : { slip: 0, sigma: 0 }),
    perFreedom: gain / freedom,
    without: explained ? { ...estimate, ...(without ?? { fit: culprit, choice }) } : null,
  };
}

/** How far apart the camera's two places on the mount are, with the one-sigma error of that. */
function slipOf(fit: JointFit, frame: number, widen: number): { slip: number; sigma: number } {
  const own = fit.mounting[frame]!;
  const others = fit.mounting.find((m) => m !== own)!;
  const variance = (m: number): number => (fit.centreCovariances[m]![0] + fit.centreCovariances[m]![3]) / 2;
  return { slip: angleBetween(fit.centres[own]!, fit.centres[others]!), sigma: Math.sqrt(variance(own) + variance(others)) * widen };
}

/** A start for a fit in which the camera had moved in some frames: the axis of the others, and each frame's own pose. */
function startApart(fit: JointFit, poses: readonly Rotation[], moved: readonly number[]): JointFit {
  const sound = poses.map((_, i) => i).filter((i) => !moved.includes(i));
  const { axis } = axisFromPoses(sound.map((i) => poses[i]!), fit.axes[0]!);
  const mounting = poses.map((_, i) => (moved.includes(i) ? 1 + moved.indexOf(i) : 0));
  return { ...fit, ...regrouped(fit, poses, axis, mounting) };
}

/** Chi-squared exceeded with the chance of ALARM at some degrees of freedom (Wilson & Hilferty 1931, PNAS 17, 684). */
function quantile(freedom: number): number {
  const a = 2 / (9 * freedom);
  return freedom * (1 - a + ALARM * Math.sqrt(a)) ** 3;
}
