import { unlinkSync } from 'node:fs';
import { warn } from './output.js';

/** Exit code of a command that was stopped by Ctrl-C: 128 + the signal's number, as shells have it. */
export const INTERRUPTED = 130;
const TERMINATED = 143;

const temporaries = new Set<string>();
const listeners = new Set<() => void>();

/** A file that must not stay if the command is interrupted. */
export function rememberTemporary(path: string): void {
  temporaries.add(path);
}

export function forgetTemporary(path: string): void {
  temporaries.delete(path);
}

/** Calls `tidy` if the command is interrupted, before it ends; returns what takes that back. */
export function whenInterrupted(tidy: () => void): () => void {
  listeners.add(tidy);
  return () => { listeners.delete(tidy); };
}

/**
 * From now on Ctrl-C (and Ctrl-Break on Windows, and a request to end) ends this command cleanly: temporary files go, a sentence
 * on stderr says so, and the exit code tells. The session needs nothing: each of its lines is written in one go, and no signal comes
 * between. A second Ctrl-C ends the process as the system does.
 */
export function endCleanly(night: boolean): void {
  const end = (code: number) => (): void => {
    for (const tidy of [...listeners]) tidy();
    for (const path of temporaries) remove(path);
    warn(`Stopped (exit ${code}): no file is left half-written, and the session\nis whole. Run the command again to have its answer.`, night);
    process.exit(code);
  };
  process.once('SIGINT', end(INTERRUPTED)).once('SIGTERM', end(TERMINATED));
  if (process.platform === 'win32') process.once('SIGBREAK', end(INTERRUPTED)).once('SIGHUP', end(TERMINATED));
}

/** Lets a signal that came during long work be heard. */
export function breathe(): Promise<void> {
  return new Promise((resolve) => { setImmediate(resolve); });
}

function remove(path: string): void {
  try {
    unlinkSync(path);
  } catch {
    // It is gone already, or can't be had; there is nobody left to tell.
  }
}
