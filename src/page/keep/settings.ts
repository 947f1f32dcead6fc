import type { Aim } from '../../axis/aim.js';

/** What the person has set, kept for next time on this device. Null: not set. */
export interface Settings {
  readonly place: Place | null;
  readonly pressureHectopascal: number | null;
  readonly temperatureCelsius: number | null;
  /** Zone of the camera's clock as written: an offset from UTC, or a name such as Europe/Madrid. */
  readonly zone: string | null;
  /** Seconds that the camera's clock is ahead. */
  readonly clockAheadSeconds: number | null;
  readonly focalLengthMillimetres: number | null;
  readonly pixelSizeMicrometres: number | null;
  readonly limitArcmin: number | null;
  readonly aim: Aim;
  /** Frames without a time take their file's. */
  readonly fileTimes: boolean;
  /** Starts of the next frames' exposures as written: UTC, separated by commas. Used once. */
  readonly nextTimes: string | null;
  /** Where frames look, as written: "pole", or right ascension and declination. */
  readonly near: string | null;
  /** Text of the rig file, and its name. */
  readonly rig: { readonly text: string; readonly name: string } | null;
  /** The chosen one of the rig's named sites. */
  readonly site: string | null;
  /** The night that frames go into. */
  readonly night: string | null;
}

/** Where the mount stands, degrees (north and east positive) and metres. */
export interface Place {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationMetres: number | null;
  readonly from: PlaceFrom;
}

/** Typed by the person, or told by the device. */
export type PlaceFrom = 'typed' | 'this device';

export const FIRST_SETTINGS: Settings = {
  place: null, pressureHectopascal: null, temperatureCelsius: null, zone: null, clockAheadSeconds: null,
  focalLengthMillimetres: null, pixelSizeMicrometres: null, limitArcmin: null, aim: 'refracted', fileTimes: false, nextTimes: null,
  near: null, rig: null, site: null, night: null,
};
