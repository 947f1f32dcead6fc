/** Lets a signal that came during long work be heard. */
export function breathe(): Promise<void> {
  return new Promise((resolve) => { setImmediate(resolve); });
}
