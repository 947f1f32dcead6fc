/** Long work in steps: it yields every few milliseconds, so that whoever runs it may do something else, or leave it. */
export type Steps<T> = Generator<unknown, T>;

/** How the steps of long work are taken: whoever waits for the result may let others on between them. */
export type Pace = <T>(steps: Steps<T>) => Promise<T>;

/** Takes all steps at once and returns what they come to. */
export function atOnce<T>(steps: Steps<T>): T {
  for (;;) {
    const { done, value } = steps.next();
    if (done) return value;
  }
}

/** The pace of whoever has nothing else to do. */
export const WITHOUT_REST: Pace = (steps) => Promise.resolve(atOnce(steps));
