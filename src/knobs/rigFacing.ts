import type { AltitudeKnob, AzimuthKnob, Rig } from './rig.js';
import { hemisphereOfSites } from './hemisphereOfSites.js';

/** A rig whose azimuth knob is described by east and west: as it works under one pole. */
export interface FacingRig extends Rig {
  readonly knobs?: {
    readonly azimuth?: AzimuthKnob & { readonly clockwise?: 'east' | 'west' };
    readonly altitude?: AltitudeKnob;
  };
}

/**
 * The rig under the pole of a hemisphere. When one faces north, east is on the right; when one faces south, on the left. A file that says
 * east or west was written for its own site: if that is in the other hemisphere, the same screw moves the axis the other way.
 */
export function rigFacing(rig: Rig, hemisphere: 1 | -1): FacingRig {
  const { azimuth, altitude } = rig.knobs ?? {};
  if (azimuth?.clockwise === undefined) return rig as FacingRig;
  const right = toTheRight(azimuth.clockwise, hemisphereOfSites(rig) ?? hemisphere);
  const clockwise = right === (hemisphere === 1) ? 'east' : 'west';
  return { ...rig, knobs: { azimuth: { ...azimuth, clockwise }, ...(altitude ? { altitude } : {}) } };
}

/** The same rig with the azimuth knob described by left and right, which hold at any site. */
export function rigByHand(rig: Rig): Rig {
  const hemisphere = hemisphereOfSites(rig);
  const azimuth = rig.knobs?.azimuth;
  if (azimuth?.clockwise === undefined || hemisphere === null) return rig;
  const clockwise = toTheRight(azimuth.clockwise, hemisphere) ? 'right' : 'left';
  return { ...rig, knobs: { ...rig.knobs, azimuth: { ...azimuth, clockwise } } };
}

function toTheRight(clockwise: NonNullable<AzimuthKnob['clockwise']>, hemisphere: 1 | -1): boolean {
  if (clockwise === 'left' || clockwise === 'right') return clockwise === 'right';
  return (clockwise === 'east') === (hemisphere === 1);
}
