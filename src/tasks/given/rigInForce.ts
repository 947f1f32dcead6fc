import type { Rig } from '../../knobs/rig.js';

/** A rig, the file it is in and how that was found. */
export interface RigInForce {
  readonly rig: Rig;
  readonly path: string;
  readonly from: string;
  /** Which of its named sites was taken; absent where it is the file's own. */
  readonly siteName?: string;
}

/** How it is said that a value is from a rig file. */
export function rigSource({ path }: RigInForce): string {
  return `rig file ${path}`;
}

/** Where a value is from, without a rig file's path: that would fill the screen. */
export function shortSource(from: string, rigFile: RigInForce | null): string {
  return rigFile !== null && from === rigSource(rigFile) ? 'rig file' : from;
}

/** How a rig is told from others in a session. */
export function rigName(found: RigInForce | null): string | null {
  return found && (found.rig.name ?? found.path);
}
