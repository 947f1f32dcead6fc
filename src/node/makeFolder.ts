import { mkdirSync, statSync } from 'node:fs';
import { dirname } from 'node:path';

/**
 * Makes a folder and the missing ones above it, with the permissions of the process' mask.
 *
 * Node's own `recursive` never returns where the system answers ENOENT for a folder whose parent exists (under `/proc` on Linux, Node 20):
 * here the parents are made first, and each is tried once.
 *
 * @throws the system's error (`EACCES`, `EROFS`, `ENOENT`, `ENOTDIR`, `EEXIST` for a file of that name, …)
 */
export function makeFolder(path: string): void {
  if (isFolder(path)) return;
  const parent = dirname(path);
  if (parent !== path) makeFolder(parent);
  try {
    mkdirSync(path);
  } catch (error) {
    // Another process may have been first.
    if (!isFolder(path)) throw error;
  }
}

function isFolder(path: string): boolean {
  return statSync(path, { throwIfNoEntry: false })?.isDirectory() ?? false;
}
