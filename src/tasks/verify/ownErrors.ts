import type { TrackedRun } from './trackedRun.js';

/** A scatter that exceeds the expectation by fewer of its own sigmas than this is only chance. */
const SIGMAS = 2;

/**
 * Whether the scatter of the field about its drift is within the errors of the stars' own positions: then it shows nothing of gear, wind or
 * air.
 */
export function ownErrorsExplain({ drift, field }: Pick<TrackedRun, 'drift' | 'field'>): boolean {
  const { x, y, frames } = drift;
  const expected = frames.map((i) => field.frames[i]!.fit.covariance).map((c) => c[0]! + c[4]!);
  const mean = expected.reduce((sum, variance) => sum + variance, 0) / expected.length;
  // The mean square of 2·freedom residuals has a relative error of 1/√freedom.
  return x.scatter ** 2 + y.scatter ** 2 < mean * (1 + SIGMAS / Math.sqrt(Math.max(1, x.freedom)));
}
