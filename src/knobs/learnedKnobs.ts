import type { KnobName } from './rig.js';

/**
 * One turn of one knob: turns in the rig's own directions, + = clockwise seen facing the knob (of a push-pull pair: tightening the named
 * screw).
 */
export interface KnobTurned {
  readonly knob: KnobName;
  readonly turns: number;
}

/** What turning did: the turns between two measurements, in their order, and by how much the axis error changed. */
export interface Adjustment {
  readonly turns: readonly KnobTurned[];
  /** Error afterwards minus error before, radians, signs of the error (azimuth + = east, altitude + = up). */
  readonly change: { readonly azimuth: number; readonly altitude: number };
  /** One-sigma errors of the change, radians. */
  readonly sigma: { readonly azimuth: number; readonly altitude: number };
  /** Which night: between two sessions knobs may have been moved without a record, and the mount set up again. */
  readonly session: string;
}

/** What turning has shown of one knob. */
export interface LearnedKnob {
  /** Radians of its own error for one clockwise turn: negative where clockwise goes west or lowers. */
  readonly travel: number;
  readonly sigma: number;
  /** Adjustments in which the knob was turned and which were used. */
  readonly count: number;
  /** Adjustments left out because they fit the others so badly: miscounted, or a clutch slipped. */
  readonly setAside: number;
  /** Turns lost on reversing; null while the data don't show that there are any. */
  readonly backlash: { readonly turns: number; readonly sigma: number } | null;
  /** How the last turn of this session went: +1 clockwise, -1 counter-clockwise; null before the first. */
  readonly last: 1 | -1 | null;
  /** Turns that go clockwise, and counter-clockwise, before the axis moves; both 0 without a known backlash or a last turn. */
  readonly slack: { readonly clockwise: number; readonly counterClockwise: number };
  /** The rig file gives the other direction for clockwise, and the turns show that it is wrong. */
  readonly againstRig: boolean;
}

/** What all turns have shown. */
export interface LearnedKnobs {
  readonly azimuth: LearnedKnob | null;
  readonly altitude: LearnedKnob | null;
  /**
   * Where the base is so far from level that a knob moves both errors, and this session's data show it: azimuth error for one turn of the
   * altitude knob, and altitude error for one turn of the azimuth knob (radians). Null while the data don't show it.
   */
  readonly cross: {
    readonly azimuthByAltitude: number; readonly azimuthByAltitudeSigma: number;
    readonly altitudeByAzimuth: number; readonly altitudeByAzimuthSigma: number;
  } | null;
}
