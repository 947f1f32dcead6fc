import { ARCMINUTE } from '../geometry/angle.js';
import type { RigKnob } from './rig.js';
import { threadPitch } from './threads.js';

/** How far one turn moves the axis, and the source of that. */
export interface Travel {
  /** Radians a turn, positive. */
  readonly perTurn: number;
  readonly from: 'arcminPerTurn' | 'screw and lever arm';
}

/**
 * Travel of one turn as the rig file gives it: directly, or as the angle under which one pitch is seen over the lever arm,
 * atan(pitch / arm). Null where it says neither.
 */
export function travelPerTurn(knob: RigKnob | undefined): Travel | null {
  if (!knob) return null;
  if (knob.arcminPerTurn !== undefined) return { perTurn: knob.arcminPerTurn * ARCMINUTE, from: 'arcminPerTurn' };
  const pitch = knob.screwPitchMillimetres ?? (knob.thread === undefined ? null : threadPitch(knob.thread));
  if (pitch === null || knob.leverArmMillimetres === undefined) return null;
  return { perTurn: Math.atan(pitch / knob.leverArmMillimetres), from: 'screw and lever arm' };
}

/**
 * +1 where a clockwise turn makes the knob's error grow (east, raise), -1 where it makes it shrink, null where the rig file does not say.
 */
export function clockwiseSign(clockwise: 'east' | 'west' | 'raise' | 'lower' | undefined): 1 | -1 | null {
  if (clockwise === undefined) return null;
  return clockwise === 'east' || clockwise === 'raise' ? 1 : -1;
}
