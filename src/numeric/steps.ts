/** Long work in steps: it yields every few milliseconds, so that the caller can do something else in between, or stop. */
export type Steps<T> = Generator<unknown, T>;

/** How the steps of long work are taken: the caller may let other work run between them. */
export type Pace = <T>(steps: Steps<T>) => Promise<T>;

/** Takes all steps at once and returns the result. */
export function atOnce<T>(steps: Steps<T>): T {
  for (;;) {
    const { done, value } = steps.next();
    if (done) return value;
  }
}

/** The pace of a caller with nothing else to do. */
export const WITHOUT_REST: Pace = (steps) => Promise.resolve(atOnce(steps));
