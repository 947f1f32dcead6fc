/** What a tracking mount does apart from following the stars. Angles on the sky except those of the right-ascension axis. */
export interface Drive {
  /** The axis turns this much too fast, arcseconds of its own angle a minute; + = westward. */
  readonly rateArcsecPerMinute: number;
  /** The gear's periodic error: amplitude (half of peak to peak) of the axis' own angle, arcseconds. */
  readonly periodicArcsec: number;
  readonly periodSeconds: number;
  readonly phaseDeg: number;
  /** One-sigma jump of the whole field in each coordinate from frame to frame: air and wind, arcseconds. */
  readonly jitterArcsec: number;
  /** The tube sags this much about the declination axis, arcseconds an hour. */
  readonly flexureArcsecPerHour: number;
  /** The pointing is moved at random before each frame by up to this much in each coordinate, arcseconds. */
  readonly ditherArcsec: number;
  /** Both motors keep a star in its place: its offset from the field's middle, degrees along x and y of the camera; null = unguided. */
  readonly guideStar: { readonly xDeg: number; readonly yDeg: number } | null;
}

export const STEADY_DRIVE: Drive = {
  rateArcsecPerMinute: 0, periodicArcsec: 0, periodSeconds: 480, phaseDeg: 0, jitterArcsec: 0, flexureArcsecPerHour: 0, ditherArcsec: 0,
  guideStar: null,
};

/** Turns of both shafts beyond the plan's, radians: westward about the right-ascension axis, about the declination axis. */
export interface ShaftTurns {
  readonly west: number;
  readonly declination: number;
}
