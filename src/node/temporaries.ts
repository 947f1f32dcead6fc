import { unlinkSync } from 'node:fs';

const temporaries = new Set<string>();
const listeners = new Set<() => void>();

/** A file that must be deleted if the program is ended from outside. */
export function rememberTemporary(path: string): void {
  temporaries.add(path);
}

export function forgetTemporary(path: string): void {
  temporaries.delete(path);
}

/** Calls `tidy` before the program ends if it is ended from outside; returns a function that cancels this. */
export function whenEnded(tidy: () => void): () => void {
  listeners.add(tidy);
  return () => { listeners.delete(tidy); };
}

/** Deletes all temporary files; called by whatever ends the program. */
export function tidyUp(): void {
  for (const tidy of [...listeners]) tidy();
  for (const path of temporaries) remove(path);
}

function remove(path: string): void {
  try {
    unlinkSync(path);
  } catch {
    // It is gone already, or can't be had; there is nobody left to tell.
  }
}
