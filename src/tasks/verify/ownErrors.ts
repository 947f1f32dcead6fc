import type { TrackedRun } from './trackedRun.js';

/** A scatter above what is expected by fewer than these of its own sigmas is no more than that. */
const SIGMAS = 2;

/**
 * Whether what the field wanders about its drift is within what the errors of the stars' own places explain: then it says nothing of
 * gear, wind or air.
 */
export function ownErrorsExplain({ drift, field }: Pick<TrackedRun, 'drift' | 'field'>): boolean {
  const { x, y, frames } = drift;
  const expected = frames.map((i) => field.frames[i]!.fit.covariance).map((c) => c[0]! + c[4]!);
  const mean = expected.reduce((sum, variance) => sum + variance, 0) / expected.length;
  // The mean square of 2·freedom residuals is known to 1/√freedom of itself.
  return x.scatter ** 2 + y.scatter ** 2 < mean * (1 + SIGMAS / Math.sqrt(Math.max(1, x.freedom)));
}
