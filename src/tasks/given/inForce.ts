import type { Rig } from '../../knobs/rig.js';
import type { CommonOptions } from '../../cli/commonOptions.js';
import { type GivenValues, type RigInForce, givenValues, optionsWithRig, rigInForce } from '../../node/rigInForce.js';
import type { FrameResult } from '../recognise/starsOfFrame.js';

/** Options with the rig file's values filled in, and where each came from. */
export interface InForce {
  readonly given: GivenValues;
  readonly rigFile: RigInForce | null;
}

/** Fills in from the rig file what the command line leaves open. `near`: a frame or folder, where the search for the file begins. */
export function withRig<T extends CommonOptions>(options: T, near: string | null): T & InForce {
  const rigFile = rigInForce(options.rig, near);
  return { ...optionsWithRig(options, rigFile), given: givenValues(options, rigFile), rigFile };
}

/** How a rig is told from others in a session. */
export function rigName(rigFile: RigInForce | null): string | null {
  return rigFile && (rigFile.rig.name ?? rigFile.path);
}

export function rigOf(options: Partial<InForce>): Rig | null {
  return options.rigFile?.rig ?? null;
}

/** Takes off a frame's time what the rig file says the camera's clock is ahead. */
export function clockCorrected(result: FrameResult, options: Partial<InForce>): FrameResult {
  const ahead = options.given?.clockAheadSeconds;
  if (!ahead || ahead.value === 0 || !('stars' in result) || !result.metadata.midExposure) return result;
  const { value, from } = result.metadata.midExposure;
  const midExposure = { value: new Date(value.getTime() - ahead.value * 1000), from: `${from}, clock ${ahead.value} s ahead (${ahead.from})` };
  return { ...result, metadata: { ...result.metadata, midExposure } };
}
