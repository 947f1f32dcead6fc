import { statSync } from 'node:fs';

/** When each file was last written; 1970 where there is none, which is refused when it is read. */
export function fileTimesOf(files: readonly string[]): Date[] {
  return files.map((file) => new Date(statSync(file, { throwIfNoEntry: false })?.mtimeMs ?? 0));
}
