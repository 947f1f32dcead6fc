/** What is known of a run, for its verdict. Pixels are those of the sensor. */
export interface RunFacts {
  /** Longest trail allowed in one exposure. */
  readonly limitPixels: number;
  readonly exposureSeconds: number | null;
  /** Drift in one exposure in the picture's middle, and the trail that rotation adds at the worst corner. */
  readonly driftPixels: number | null;
  readonly cornerPixels: number | null;
  /** Share of the drift that the axis explains, of the squares of both directions; null where unknown. */
  readonly axisShare: number | null;
  /** So fast a drift means that the mount was not tracking. */
  readonly notTracking: boolean;
  /**
   * Scatter of the field from frame to frame, both coordinates together, pixels, 0 where the stars' own errors explain it; along right
   * ascension and declination where known.
   */
  readonly wanderPixels: number;
  readonly wanderAlong: { readonly rightAscension: number; readonly declination: number } | null;
  readonly guided: boolean;
  readonly framesGiven: number;
  readonly framesUsed: number;
  readonly elongation: number | null;
  readonly elongationSigma: number;
  /** Share of the elongation that drift explains. */
  readonly elongationByDrift: number;
  /** Largest elongation of a corner, with its error, and the middle's. */
  readonly worstCorner: { readonly elongation: number; readonly sigma: number } | null;
  readonly middle: { readonly elongation: number; readonly sigma: number } | null;
}

export type FirstFix = 'frames' | 'tracking' | 'axis' | 'drive' | 'drift' | 'rotation' | 'gear' | 'wind' | 'optics' | 'shape';

export interface RunVerdict {
  readonly ready: boolean;
  readonly fix: FirstFix | null;
  /** One line: ready, or what to fix first and why. */
  readonly line: string;
}

/** An elongation that people notice (common practice). */
const SEEN_ELONGATION = 1.2;

/** Ready, or what to fix first: the fault that spoils most frames, then the one that costs most pixels. */
export function runVerdict(facts: RunFacts): RunVerdict {
  const { limitPixels: limit } = facts;
  const fix = (what: FirstFix, line: string): RunVerdict => ({ ready: false, fix: what, line: `fix first: ${line}` });
  const px = (value: number): string => `${value.toPrecision(2)} px`;
  if (2 * facts.framesUsed < facts.framesGiven) return fix(
    'frames', `${facts.framesGiven - facts.framesUsed} of ${facts.framesGiven} frames could not be used`,
  );
  if (facts.notTracking) return fix('tracking', 'the mount did not follow the stars; switch its drive on, at the sidereal rate');
  const { driftPixels: drift, cornerPixels: corner } = facts;
  const trail = (drift ?? 0) + (corner ?? 0);
  if (drift !== null && corner !== null && trail > limit) {
    if (corner > drift) return fix('rotation', `the axis: the field turns, ${px(corner)} at a corner in one exposure (limit ${limit})`);
    if (facts.axisShare === null) return fix('drift', `the drift: ${px(drift)} in one exposure (limit ${limit}); align the axis, or guide`);
    if (facts.axisShare >= 0.5) return fix('axis', `the axis: it makes most of the drift of ${px(drift)} in one exposure (limit ${limit})`);
    return fix(
      'drive', `the drive: ${px(drift)} of drift in one exposure, most of it not from the axis (limit ${limit}); guide, or check its rate`,
    );
  }
  if (facts.wanderPixels > limit) {
    const along = facts.wanderAlong;
    if (along && along.rightAscension > 2 * along.declination && !facts.guided) return fix(
      'gear', `the gear: the field moves ${px(along.rightAscension)} in right ascension; guide, or train its correction`,
    );
    return fix(
      'wind',
      `the field moves ${px(facts.wanderPixels)} from frame to frame: wind, cables, balance, `
        + `clutches${facts.guided ? ' or guiding' : ''}`,
    );
  }
  if (facts.elongation !== null && facts.elongation - 2 * facts.elongationSigma > SEEN_ELONGATION) {
    return fix('shape', facts.elongationByDrift > 0.5
      ? `the drift: stars are ${facts.elongation.toFixed(2)} times longer than wide`
      : `the stars are ${facts.elongation.toFixed(2)} times longer than wide, and not because of drift: wind, the gear or the optics`);
  }
  const { worstCorner: worst, middle } = facts;
  if (worst && middle && worst.elongation - 2 * worst.sigma > SEEN_ELONGATION
    && worst.elongation - middle.elongation > 3 * Math.hypot(worst.sigma, middle.sigma)) {
    return fix(
      'optics',
      `stars in a corner are ${worst.elongation.toFixed(2)} times longer than wide, in the middle ${middle.elongation.toFixed(2)}: spacing `
        + 'or tilt of the camera',
    );
  }
  if (drift === null || corner === null) return {
    ready: true, fix: null, line: 'ready by the stars\' shape; the drift is only judged with the exposure known',
  };
  return { ready: true, fix: null, line: `ready: trails ${px(trail)} in one exposure at the worst corner (limit ${limit})` };
}
