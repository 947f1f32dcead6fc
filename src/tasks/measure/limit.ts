import type { Limit } from '../../night/said.js';
import type { Sourced } from '../../frames/frame.js';
import type { RigInForce } from '../given/rigInForce.js';

/** Within this the axis is good enough for most guided runs (common practice). */
const USUAL_ARCMIN = 1;

/** The limit used: the person's, else the rig file's, else what its planned run allows, else one arcminute. */
export function limitInForce(said: Sourced<number> | undefined, rig: RigInForce | null, plannedArcmin: number | null): Limit {
  if (said) return { arcmin: said.value, from: said.from };
  const inRig = rig?.rig.limitArcmin;
  if (inRig !== undefined) return { arcmin: inRig, from: 'rig file' };
  if (plannedArcmin !== null) return { arcmin: plannedArcmin, from: 'planned run' };
  return { arcmin: USUAL_ARCMIN, from: null };
}
