import type { Pace } from '../../numeric/steps.js';

/** Long work pauses after so long, to hear whether it is to stop, ms. */
const BREATH_MS = 30;

/** The person has stopped the work. */
export class Stopped extends Error {}

/** Pauses in long work, in which it can be stopped. */
export class Rests {
  private wanted = true;
  private leave: (() => void) | null = null;

  begin(): void {
    this.wanted = true;
  }

  stop(): void {
    this.wanted = false;
    this.leave?.();
  }

  /** Waits for work of another worker. When stopped, ends that by `end` and throws {@link Stopped} at once. */
  async elsewhere<T>(work: Promise<T>, end: () => void): Promise<T> {
    try {
      return await Promise.race([work, new Promise<never>((_, reject) => {
        this.leave = () => {
          end();
          reject(new Stopped());
        };
      })]);
    } finally {
      this.leave = null;
    }
  }

  /** Lets messages arrive. Throws {@link Stopped} when the work was stopped. */
  async rest(): Promise<void> {
    await new Promise<void>((resolve) => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => {
        port1.close();
        resolve();
      };
      port2.postMessage(null);
    });
    if (!this.wanted) throw new Stopped();
  }

  /** Takes steps to their end, with pauses. */
  readonly pace: Pace = async (steps) => {
    for (let begun = performance.now(); ;) {
      const { done, value } = steps.next();
      if (done) return value;
      if (performance.now() - begun < BREATH_MS) continue;
      await this.rest();
      begun = performance.now();
    }
  };
}
