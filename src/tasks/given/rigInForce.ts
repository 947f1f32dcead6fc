import type { Rig } from '../../knobs/rig.js';

/** A rig, its file and how that was found. */
export interface RigInForce {
  readonly rig: Rig;
  readonly path: string;
  readonly from: string;
  /** Which of its named sites is used; absent where it is the file's own. */
  readonly siteName?: string;
}

/** The words for a value's source where it is a rig file. */
export function rigSource({ path }: RigInForce): string {
  return `rig file ${path}`;
}

/** A value's source, without a rig file's path, which would fill the screen. */
export function shortSource(from: string, rigFile: RigInForce | null): string {
  return rigFile !== null && from === rigSource(rigFile) ? 'rig file' : from;
}

/** What identifies a rig in a session. */
export function rigName(found: RigInForce | null): string | null {
  return found && (found.rig.name ?? found.path);
}
