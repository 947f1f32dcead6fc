/** Lets a signal that came during long work be heard. */
export function breathe(): Promise<void> {
  return new Promise((resolve) => { setImmediate(resolve); });
}

/** Takes steps to their end, letting signals be heard. */
export async function withRests<T>(steps: Iterator<unknown, T>): Promise<T> {
  return (await inSteps(steps))!.value;
}

/** Steps are taken for this long, ms, before others are let on. */
const BREATH_MS = 30;

/**
 * Takes steps to their end and returns what they come to, letting others on every few hundredths of a second.
 *
 * @param leave asked at each breath: true leaves the steps where they are, to be taken up again or not; then null is returned
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
