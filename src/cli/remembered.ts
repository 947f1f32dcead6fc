import type { Anchor } from '../night/anchor.js';
import { rememberedCamera } from '../node/earlierSessions.js';
import type { Given } from '../tasks/given/given.js';
import { rigName } from '../tasks/given/rigInForce.js';
import type { SeenFrames } from '../tasks/measure/seeFrames.js';
import type { SessionOptions } from './sessionOptions.js';

/** Where the rig's camera sat on the mount the night before, for frames that begin a night; null where that is unknown or not wanted. */
export function rememberedFor({ known }: SeenFrames, folder: string, { rigFile }: Given, options: SessionOptions): Anchor | null {
  const [first] = known;
  if (!first || options.rememberedCamera === false || options.session === false) return null;
  return rememberedCamera(folder, rigName(rigFile), first.sky.time.getTime());
}
