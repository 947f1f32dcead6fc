import { type FSWatcher, type Stats, watch } from 'node:fs';
import { readdir, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { hasFrameEnding } from '../frames/frameEndings.js';
import { stampOf } from './fileMark.js';

/** A file whose size and time have not changed for this long is taken as complete, ms. */
const SETTLED_MS = 60;
/** A file seen to pause while it was written must be unchanged for longer than its pauses, but at most this long, ms. */
const LONGER_THAN_PAUSES = 1.2;
const LONGEST_QUIET_MS = 800;
/** A change this long after the last one is a new one, not the end of a pause, ms. */
const PAUSE_MS = 3000;
/** Time between looks at a folder for which the system sends no notices, ms; and at one for which it does, in case some are lost. */
const POLL_MS = 500;
const SAFETY_MS = 1000;
/** Looking through a folder takes at most this share of the time. */
const LOOKING_SHARE = 0.2;

/** Why a folder can't be looked through. */
export type FolderTrouble = 'gone' | 'not permitted' | 'failed';

/** A change of the folder: it can't be read any more, or it can be read again. */
export type FolderListener = (trouble: FolderTrouble | null) => void;

interface Entry {
  stamp: string;
  modifiedMs: number;
  /** When it was last seen to change, by the process' own clock: the computer's clock may be reset. */
  changedAt: number;
  longestPause: number;
  /** It has changed since it was last returned. */
  due: boolean;
}

/** A file that is new or changed, and complete. */
export interface NewFrame {
  readonly path: string;
  readonly modifiedMs: number;
}

/**
 * Watches a folder for frames as capture software writes them: in pieces, renamed into place, many at once. The system's notices make it
 * fast; looking through the folder every second makes it reliable, also where the folder is removed and made again.
 */
export class NewFrames {
  private readonly entries = new Map<string, Entry>();
  private readonly touched = new Set<string>();
  private watcher: FSWatcher | null = null;
  /** Device and number of the folder that is watched. */
  private watched = '';
  private trouble: FolderTrouble | null = null;
  private nextScan = 0;
  private wake: () => void = () => {};
  private stopped = false;

  /** @param poll the system's notices are not used */
  constructor(private readonly folder: string, private readonly poll: boolean, private readonly listener: FolderListener) {}

  /** Looks through the folder for the first time. */
  async start(withOld: boolean): Promise<void> {
    await this.scan();
    if (!withOld) for (const entry of this.entries.values()) entry.due = false;
  }

  /** The files that are new or changed since the last call, all complete. Waits until there is one; null once stopped. */
  async next(patienceMs: number): Promise<NewFrame[] | null> {
    const until = performance.now() + patienceMs;
    for (;;) {
      if (this.stopped) return null;
      await this.look();
      const ready = await this.takeSettled();
      if (this.stopped) return null;
      const now = performance.now();
      if (ready.length > 0 || now >= until) return ready;
      const settling = [...this.entries.values()].filter((e) => e.due).map((e) => e.changedAt + quiet(e));
      await this.sleep(Math.max(5, Math.min(until, this.nextScan, ...settling) - now));
    }
  }

  /** Whether files are waiting to be returned: asked during long work. */
  async wait(): Promise<boolean> {
    await this.look();
    const now = performance.now();
    return this.stopped || [...this.entries.values()].some((e) => e.due && now >= e.changedAt + quiet(e));
  }

  stop(): void {
    this.stopped = true;
    this.watcher?.close();
    this.watcher = null;
    this.wake();
  }

  private sleep(ms: number): Promise<void> {
    return new Promise((resolve) => {
      const timer = setTimeout(resolve, ms);
      this.wake = () => {
        clearTimeout(timer);
        resolve();
      };
      if (this.touched.size > 0 || this.stopped) this.wake();
    });
  }

  /** Looks at the files in the system's notices, and at all files when it is time. */
  private async look(): Promise<void> {
    if (performance.now() >= this.nextScan) return this.scan();
    const names = [...this.touched];
    this.touched.clear();
    await this.lookAtAll(names);
  }

  /** Files found in one look settle at the same moment: of many at once the newest can then be answered first. */
  private async lookAtAll(names: readonly string[]): Promise<void> {
    const begun = performance.now();
    for (const name of names) await this.lookAt(name);
    const now = performance.now();
    for (const entry of this.entries.values()) if (entry.changedAt >= begun) entry.changedAt = now;
  }

  private async scan(): Promise<void> {
    const begun = performance.now();
    this.touched.clear();
    try {
      const about = await stat(this.folder);
      this.follow(`${about.dev} ${about.ino}`);
      const names = (await readdir(this.folder)).filter(hasFrameEnding);
      await this.lookAtAll(names);
      const there = new Set(names);
      for (const name of this.entries.keys()) if (!there.has(name)) this.entries.delete(name);
      this.tell(null);
    } catch (error) {
      this.follow('');
      this.tell(troubleOf(error));
    }
    const took = performance.now() - begun;
    this.nextScan = performance.now() + Math.max(this.watcher ? SAFETY_MS : POLL_MS, took / LOOKING_SHARE);
  }

  private tell(trouble: FolderTrouble | null): void {
    if (trouble === this.trouble) return;
    this.trouble = trouble;
    this.listener(trouble);
  }

  /** Asks the system for notices of the folder that has this name now: notices of an earlier folder of that name stop. */
  private follow(folder: string): void {
    if (this.poll || folder === this.watched) return;
    this.watcher?.close();
    this.watcher = null;
    this.watched = folder;
    if (folder === '') return;
    const lost = (): void => {
      this.watcher?.close();
      this.watcher = null;
      this.watched = '';
    };
    try {
      this.watcher = watch(this.folder, (_, name) => {
        if (name === null || hasFrameEnding(name)) {
          if (name === null) this.nextScan = 0;
          else this.touched.add(name);
          this.wake();
        }
      }).on('error', lost);
    } catch {
      // No more notices are available: then it is looked through more often.
      lost();
    }
  }

  private async lookAt(name: string): Promise<void> {
    let about: Stats | null = null;
    try {
      about = await stat(join(this.folder, name));
    } catch (error) {
      if (!isGone(error)) this.note(name, 'unknown', 0);
      else this.entries.delete(name);
      return;
    }
    // A folder may have any name.
    if (!about.isDirectory()) this.note(name, stampOf(about), about.mtimeMs);
  }

  private note(name: string, stamp: string, modifiedMs: number): void {
    const now = performance.now();
    const entry = this.entries.get(name);
    if (!entry) {
      this.entries.set(name, { stamp, modifiedMs, changedAt: now, longestPause: 0, due: true });
      return;
    }
    if (entry.stamp === stamp) return;
    const pause = now - entry.changedAt;
    entry.longestPause = pause < PAUSE_MS ? Math.max(entry.longestPause, pause) : 0;
    Object.assign(entry, { stamp, modifiedMs, changedAt: now, due: true });
  }

  private async takeSettled(): Promise<NewFrame[]> {
    const now = performance.now();
    const quietOnes = [...this.entries].filter(([, e]) => e.due && now >= e.changedAt + quiet(e)).map(([name]) => name);
    for (const name of quietOnes) await this.lookAt(name);
    return quietOnes.flatMap((name) => {
      const entry = this.entries.get(name);
      if (!entry || entry.changedAt > now) return [];
      entry.due = false;
      return [{ path: join(this.folder, name), modifiedMs: entry.modifiedMs }];
    });
  }
}

function quiet({ longestPause }: Entry): number {
  return Math.min(LONGEST_QUIET_MS, Math.max(SETTLED_MS, LONGER_THAN_PAUSES * longestPause));
}

function codeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : '';
}

function isGone(error: unknown): boolean {
  return codeOf(error) === 'ENOENT' || codeOf(error) === 'ENOTDIR';
}

function troubleOf(error: unknown): FolderTrouble {
  const code = codeOf(error);
  return isGone(error) ? 'gone' : code === 'EACCES' || code === 'EPERM' ? 'not permitted' : 'failed';
}
