import { type Datum, type KnobFit, LEAN, noise } from './fitKnob.js';
import type { Adjustment, LearnedKnobs } from './learnedKnobs.js';
import type { KnobName } from './rig.js';

interface FittedKnob {
  readonly fit: KnobFit;
  readonly used: readonly Datum[];
}

interface Travelled {
  readonly travel: number;
  readonly sigma: number;
}

/** The fall in deviance that is required for cross-talk: three sigma for two unknowns. */
const BELIEVED = 11.8;
/**
 * Where an error changed though its knob was not turned, by more than this share of the other's change, that is a bump or an unreported
 * turn, not an unlevel base.
 */
const TOO_MUCH = 0.25;

/**
 * Cross-talk of the two knobs where the base is not level, of one session: each error's change is its own knob's travel times its turns,
 * plus a share of the other error's change, which is measured and so has no error of the hand. Travel and share by least squares; null
 * unless the data show that both shares differ from zero.
 */
export function fitCross(
  azimuth: FittedKnob, altitude: FittedKnob, adjustments: readonly Adjustment[], session: string,
): { readonly azimuth: Travelled; readonly altitude: Travelled; readonly cross: NonNullable<LearnedKnobs['cross']> } | null {
  const az = fitShare(rowsOf('azimuth', azimuth, adjustments, session), azimuth.fit);
  const alt = fitShare(rowsOf('altitude', altitude, adjustments, session), altitude.fit);
  if (az.drop + alt.drop < BELIEVED) return null;
  // change_az = T_az u_az + a change_alt and change_alt = T_alt u_alt + b change_az, solved for the changes.
  const factor = 1 / (1 - az.share * alt.share);
  return {
    azimuth: { travel: az.travel * factor, sigma: az.travelSigma },
    altitude: { travel: alt.travel * factor, sigma: alt.travelSigma },
    cross: {
      azimuthByAltitude: az.share * alt.travel * factor, azimuthByAltitudeSigma: az.shareSigma * Math.abs(alt.travel),
      altitudeByAzimuth: alt.share * az.travel * factor, altitudeByAzimuthSigma: alt.shareSigma * Math.abs(az.travel),
    },
  };
}

interface Row {
  readonly turns: number;
  readonly turnVariance: number;
  /** The other error's change, where it counts as a cause; 0 in earlier sessions, when the base stood differently. */
  readonly other: number;
  readonly change: number;
  /** What does not depend on the travel, radians². */
  readonly variance: number;
}

function rowsOf(knob: KnobName, { fit, used }: FittedKnob, adjustments: readonly Adjustment[], session: string): Row[] {
  const other: KnobName = knob === 'azimuth' ? 'altitude' : 'azimuth';
  const rows = used.map((datum): Row => {
    const { turns, variance } = fit.bite(datum);
    return {
      turns, turnVariance: variance, change: datum.change,
      other: datum.current ? datum.otherChange : 0,
      variance: datum.current ? datum.sigma ** 2 : noise(datum, 0, 0),
    };
  });
  for (const { turns, change, sigma, session: of } of adjustments) {
    const turned = (name: KnobName): boolean => turns.some((t) => t.knob === name && t.turns !== 0);
    if (of !== session || turned(knob) || !turned(other)) continue;
    if (Math.abs(change[knob]) > TOO_MUCH * Math.abs(change[other]) + 5 * sigma[knob]) continue;
    rows.push({ turns: 0, turnVariance: 0, other: change[other], change: change[knob], variance: sigma[knob] ** 2 });
  }
  return rows;
}

/** Travel and share, and the fall in deviance that the share brings, in units of the scatter. */
function fitShare(
  rows: readonly Row[], fit: KnobFit,
): { travel: number; travelSigma: number; share: number; shareSigma: number; drop: number } {
  const free = solve(rows, fit, LEAN);
  const none = solve(rows, fit, 1e-9);
  const freedom = rows.length - 1;
  const excess = freedom > 0 ? Math.max(1, free.chiSquared / freedom) : 1;
  return {
    travel: free.travel, share: free.share, drop: (none.deviance - free.deviance) / excess,
    travelSigma: Math.hypot(fit.playSigma, Math.sqrt(free.travelVariance * excess)), shareSigma: Math.sqrt(free.shareVariance * excess),
  };
}

/** Gauss-Newton in the logarithm of the travel and in the share; `lean`: one sigma of the share beforehand. */
function solve(rows: readonly Row[], { travel: start, prior }: KnobFit, lean: number): {
  travel: number; travelVariance: number; share: number; shareVariance: number; deviance: number; chiSquared: number;
} {
  const sign = Math.sign(start);
  const before = Math.log(prior.size);
  let log = Math.log(Math.abs(start)), share = 0;
  let tt = 0, ts = 0, ss = 0;
  for (let round = 0; round < 12; round++) {
    const travel = sign * Math.exp(log);
    tt = 1 / prior.spread ** 2;
    ts = 0;
    ss = 1 / lean ** 2;
    let t = (before - log) / prior.spread ** 2;
    let s = -share / lean ** 2;
    for (const row of rows) {
      const w = 1 / (row.variance + travel * travel * row.turnVariance);
      const way = travel * row.turns;
      const left = row.change - way - share * row.other;
      tt += w * way * way;
      ts += w * way * row.other;
      ss += w * row.other * row.other;
      t += w * way * left;
      s += w * row.other * left;
    }
    // Both priors keep the matrix far from singular.
    const determinant = tt * ss - ts * ts;
    const step = Math.max(-0.5, Math.min(0.5, (t * ss - s * ts) / determinant));
    log += step;
    share += (s - ts * step) / ss;
    if (Math.abs(step) < 1e-6) break;
  }
  const travel = sign * Math.exp(log);
  let chiSquared = ((log - before) / prior.spread) ** 2 + (share / lean) ** 2;
  let deviance = chiSquared;
  for (const row of rows) {
    const v = row.variance + travel * travel * row.turnVariance;
    const r = (row.change - travel * row.turns - share * row.other) ** 2 / v;
    chiSquared += r;
    deviance += r + Math.log(v);
  }
  const determinant = tt * ss - ts * ts;
  return { travel, share, travelVariance: travel * travel * ss / determinant, shareVariance: tt / determinant, deviance, chiSquared };
}
