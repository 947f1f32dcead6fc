/** Lets signals that came during long work be handled. */
export function breathe(): Promise<void> {
  return new Promise((resolve) => { setImmediate(resolve); });
}

/** Takes steps to their end, and lets signals be handled in between. */
export async function withRests<T>(steps: Iterator<unknown, T>): Promise<T> {
  return (await inSteps(steps))!.value;
}

/** Steps are taken for this long, ms, before other work may run. */
const BREATH_MS = 30;

/**
 * Takes steps to their end and returns their result; every few hundredths of a second other work may run.
 *
 * @param leave called each time: true stops the steps, which may be continued later; then null is returned
 */
export async function inSteps<T>(
  steps: Iterator<unknown, T>, leave: () => boolean | Promise<boolean> = () => false,
): Promise<{ readonly value: T } | null> {
  for (let begun = performance.now(); ;) {
    const { done, value } = steps.next();
    if (done) return { value };
    if (performance.now() - begun < BREATH_MS) continue;
    await breathe();
    if (await leave()) return null;
    begun = performance.now();
  }
}
