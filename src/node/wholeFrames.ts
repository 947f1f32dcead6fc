import type { FrameResult } from '../tasks/recognise/frameStars.js';
import { type FileMark, fileMark, sameMark } from './fileMark.js';

/** How long to wait for a file that seems incomplete, after its last change, ms. */
const PATIENCE_MS = 5000;
/** For this long the wait is not reported, ms. */
const SAID_AFTER_MS = 500;
/** How long after it was taken, and how often, a file is checked for changes that leave size and time as they are, ms. */
const DISTRUST_MS = 10_000;
const DISTRUST_EVERY_MS = 1000;

interface Waiting {
  readonly since: number;
  /** When the file was first seen to be incomplete. */
  readonly first: number;
  readonly said: boolean;
  readonly mark: FileMark | null;
  /** What it gave in its present state; null where it changed while it was read. */
  readonly result: FrameResult | null;
}

/**
 * Reads frames that come into a folder, each once it is complete: a file that changes while it is read, seems cut short or is written only
 * in part waits, and no other waits for it. All times are the process' own: the computer's clock may be reset.
 */
export class WholeFrames {
  private readonly waiting = new Map<string, Waiting>();
  private readonly taken = new Map<string, FileMark | null>();
  private distrusted: { readonly path: string; readonly until: number }[] = [];
  private nextDistrust = 0;

  /** @param say called once for a file that is waited for */
  constructor(private readonly read: (path: string) => Promise<FrameResult>, private readonly say: (path: string) => void) {}

  /** The result for a complete file; null where it has not changed since it was taken, or must be waited for. */
  async take(path: string): Promise<FrameResult | null> {
    const before = await fileMark(path);
    if (before !== null && this.taken.get(path)?.content === before.content) return null;
    const result = await this.read(path);
    const after = await fileMark(path);
    const changing = !sameMark(before, after);
    if (changing || isIncomplete(result)) {
      const now = performance.now();
      const { first = now, said = false } = this.waiting.get(path) ?? {};
      this.waiting.set(path, { since: now, first, said, mark: after, result: changing ? null : result });
      return null;
    }
    return this.took(path, after, result);
  }

  /** The results for files that were waited for long enough, or have changed since they were taken though size and time have not. */
  async overdue(): Promise<FrameResult[]> {
    const now = performance.now();
    const found: FrameResult[] = [];
    for (const [path, waiting] of this.waiting) {
      if (!waiting.said && now - waiting.first >= SAID_AFTER_MS) {
        this.say(path);
        this.waiting.set(path, { ...waiting, said: true });
      }
      if (now - waiting.since < PATIENCE_MS) continue;
      const mark = await fileMark(path);
      if (waiting.result && sameMark(mark, waiting.mark)) found.push(this.took(path, mark, waiting.result));
      else if (mark === null && !waiting.said) this.waiting.delete(path);
      else found.push(...await this.again(path));
    }
    if (now >= this.nextDistrust) {
      this.nextDistrust = now + DISTRUST_EVERY_MS;
      this.distrusted = this.distrusted.filter(({ until }) => until > now);
      for (const { path } of this.distrusted) {
        const mark = await fileMark(path);
        const was = this.taken.get(path);
        if (mark && was && mark.stamp === was.stamp && mark.content !== was.content) found.push(...await this.again(path));
      }
    }
    return found;
  }

  /** How long until the next check is due, ms. */
  patience(): number {
    const now = performance.now();
    const times = [...this.waiting.values()]
      .map(({ since, first, said }) => Math.min(since + PATIENCE_MS, said ? Infinity : first + SAID_AFTER_MS));
    return Math.max(0, Math.min(...times, this.distrusted.length > 0 ? this.nextDistrust : Infinity) - now);
  }

  private async again(path: string): Promise<FrameResult[]> {
    const result = await this.take(path);
    return result ? [result] : [];
  }

  private took(path: string, mark: FileMark | null, result: FrameResult): FrameResult {
    this.waiting.delete(path);
    this.taken.set(path, mark);
    this.distrusted = [...this.distrusted.filter((d) => d.path !== path), { path, until: performance.now() + DISTRUST_MS }];
    return result;
  }
}

/** Whether a frame looks as if its file were still being written. */
function isIncomplete(result: FrameResult): boolean {
  return 'code' in result ? result.code === 'file-truncated' || result.code === 'not-an-image' : result.unfinishedRows !== undefined;
}
