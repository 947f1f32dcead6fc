import { statSync } from 'node:fs';
import { watch } from 'chokidar';
import { hasFrameEnding } from '../frames/frameEndings.js';

/** A file that has kept its size this long is taken as written, ms. */
const SETTLED_MS = 60;
/** Between looks at a folder that only polls, ms. */
const POLL_MS = 500;

export interface NewFrames {
  /** The files that have come or changed since the last call, each settled; waits for at least one. Null once stopped. */
  next(): Promise<string[] | null>;
  stop(): Promise<void>;
}

/** Watches a folder for frames as capture software writes them: piecemeal, renamed into place, many at once. */
export async function watchNewFrames(folder: string, poll: boolean, withOld: boolean): Promise<NewFrames> {
  const waiting = new Set<string>();
  let wake: () => void = () => {};
  let stopped = false;
  const watcher = watch(folder, {
    depth: 0, ignoreInitial: !withOld, usePolling: poll, interval: POLL_MS, alwaysStat: false,
    // Other files, temporary ones among them, are passed over.
    ignored: (path, stats) => stats?.isFile() === true && !hasFrameEnding(path),
  });
  const note = (path: string): void => {
    waiting.add(path);
    wake();
  };
  // A broken watch (folder unplugged) must not end the session; what was measured stays.
  watcher.on('add', note).on('change', note).on('error', () => {});
  await new Promise<void>((resolve) => { watcher.on('ready', () => resolve()); });

  return {
    async next() {
      for (;;) {
        if (stopped) return null;
        if (waiting.size === 0) await new Promise<void>((resolve) => { wake = resolve; });
        const before = new Map([...waiting].map((path) => [path, stamp(path)]));
        await new Promise((resolve) => { setTimeout(resolve, SETTLED_MS); });
        const ready = [...before].filter(([path, was]) => was !== null && stamp(path) === was).map(([path]) => path);
        for (const [path, was] of before) if (was === null || ready.includes(path)) waiting.delete(path);
        if (ready.length > 0) return ready;
      }
    },
    async stop() {
      stopped = true;
      wake();
      await watcher.close();
    },
  };
}

/** Size and time of a file as one text; null where it is gone. */
function stamp(path: string): string | null {
  const stat = statSync(path, { throwIfNoEntry: false });
  return stat ? `${stat.size} ${stat.mtimeMs}` : null;
}
