import { hasFrameEnding } from '../../frames/frameEndings.js';

/** The little of a folder that is used; the types at hand lack the rest. */
export interface FolderHandle {
  readonly name: string;
  values(): AsyncIterable<{ readonly kind: 'file' | 'directory'; readonly name: string; getFile?(): Promise<File> }>;
}

export interface FolderEars {
  /** Files that have settled, the oldest first. Returns the names of those that seem incomplete. */
  frames(files: readonly File[]): Promise<readonly string[]>;
  /** Null: it can be read again. */
  trouble(sentence: string | null): void;
}

/** How often the folder is read, ms; less often where the browser reports changes. */
const POLL_MS = 500;
const BACKUP_MS = 3000;
/** So many of the newest files are checked for changes after they were taken. */
const MOST_DISTRUSTED = 20;

interface Stamp {
  readonly size: number;
  readonly lastModified: number;
}

/** Watches a folder until it is stopped. Files already there are taken only with `all`. */
export function watchFolder(folder: FolderHandle, all: boolean, ears: FolderEars): { stop(): void } {
  const taken = new Map<string, Stamp>();
  let settling = new Map<string, Stamp>();
  let stopped = false;
  let lost = false;
  let first = !all;
  let timer: ReturnType<typeof setTimeout> | null = null;
  let looking = false;

  const look = async (): Promise<void> => {
    const names = await namesIn(folder);
    if (first) {
      first = false;
      for (const [name, handle] of names) taken.set(name, stampOf(await handle()));
      return;
    }
    const recent = new Set([...taken.keys()].slice(-MOST_DISTRUSTED));
    const now = new Map<string, Stamp>();
    const ready: File[] = [];
    for (const [name, handle] of names) {
      const before = taken.get(name);
      if (before && !recent.has(name)) continue;
      const file = await handle();
      const stamp = stampOf(file);
      if (before && same(before, stamp)) continue;
      if (same(settling.get(name), stamp)) ready.push(file);
      else now.set(name, stamp);
    }
    settling = now;
    if (ready.length === 0) return;
    ready.sort((a, b) => a.lastModified - b.lastModified || (a.name < b.name ? -1 : 1));
    const unfinished = new Set(await ears.frames(ready));
    for (const file of ready) {
      if (unfinished.has(file.name)) settling.set(file.name, stampOf(file));
      else {
        taken.delete(file.name);
        taken.set(file.name, stampOf(file));
      }
    }
  };
  const turn = async (): Promise<void> => {
    if (stopped || looking) return;
    looking = true;
    try {
      await look();
      if (lost) ears.trouble(null);
      lost = false;
    } catch {
      if (!lost) ears.trouble(`The folder ${folder.name} can't be read. The watch goes on when it can be read again.`);
      lost = true;
    } finally {
      looking = false;
    }
    if (!stopped) timer = setTimeout(() => void turn(), observer && settling.size === 0 ? BACKUP_MS : POLL_MS);
  };
  const observer = observed(folder, () => {
    if (timer !== null) clearTimeout(timer);
    void turn();
  });
  void turn();
  return {
    stop() {
      stopped = true;
      if (timer !== null) clearTimeout(timer);
      observer?.disconnect();
    },
  };
}

async function namesIn(folder: FolderHandle): Promise<Map<string, () => Promise<File>>> {
  const names = new Map<string, () => Promise<File>>();
  for await (const entry of folder.values()) {
    if (entry.kind === 'file' && entry.getFile && hasFrameEnding(entry.name)) names.set(entry.name, entry.getFile.bind(entry));
  }
  return names;
}

interface Observer {
  observe(folder: FolderHandle): Promise<void>;
  disconnect(): void;
}

/** Reports changes where the browser can (WICG File System Access, FileSystemObserver). */
function observed(folder: FolderHandle, changed: () => void): Observer | null {
  const Make = (globalThis as { FileSystemObserver?: new (changed: () => void) => Observer }).FileSystemObserver;
  if (!Make) return null;
  const observer = new Make(changed);
  observer.observe(folder).catch(() => {
    // Some folders can't be observed; they are read at intervals.
  });
  return observer;
}

function stampOf({ size, lastModified }: File): Stamp {
  return { size, lastModified };
}

function same(a: Stamp | undefined, b: Stamp): boolean {
  return a !== undefined && a.size === b.size && a.lastModified === b.lastModified;
}
