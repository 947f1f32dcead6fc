import { ARCMINUTE } from '../geometry/angle.js';
import type { Adjustment, LearnedKnob, LearnedKnobs } from './learnedKnobs.js';
import { type Datum, type KnobFit, type TravelPrior, fitKnob } from './fitKnob.js';
import { fitCross } from './fitCross.js';
import { playTurns } from './playedTurns.js';
import type { KnobName } from './rig.js';
import type { FacingRig } from './rigFacing.js';
import { clockwiseSign, travelPerTurn } from './travelPerTurn.js';

const KNOBS: readonly KnobName[] = ['azimuth', 'altitude'];
/** The assumed error of a rig file's travel. */
const RIG_SPREAD = 0.4;
/**
 * A knob of which nothing is said: half a degree a turn, three times more or less (common practice: fine screws on arms of 50 to 300 mm).
 */
const ANY_KNOB = { size: 30 * ARCMINUTE, spread: Math.log(3) };
/** Only the newest adjustments are used: what a knob did two hundred turns ago says little. */
const MOST = 60;
/** An adjustment farther than this many sigmas from the prediction of the others is left out, ... */
const ASTRAY = 6;
/** ... if at least this many are left. */
const JUDGES = 4;

/**
 * What the turns have shown of the knobs, by least squares over this session and earlier ones of the rig: travel of a turn, then backlash,
 * then the cross-talk of an unlevel base; each only where the data are sufficient. The rig file's travel is a prior with an error of 40 %.
 * Cross-talk belongs to one night's set-up, so it is found from the current session's adjustments only.
 * @param session the current one, as named in `Adjustment.session`
 */
export function learnKnobs(adjustments: readonly Adjustment[], rig: FacingRig | null, session: string): LearnedKnobs {
  const recent = adjustments.slice(-MOST);
  const fits = new Map<KnobName, { fit: KnobFit; used: Datum[]; count: number; setAside: number }>();
  for (const knob of KNOBS) {
    let data = dataOf(recent, knob, session);
    const count = data.length;
    const prior = priorOf(rig, knob);
    let fit = fitKnob(data, prior);
    while (fit && data.length >= JUDGES && data.length > count / 2) {
      const worst = data.map((datum) => {
        const others = fitKnob(data.filter((d) => d !== datum), prior);
        return { datum, away: others ? others.standardized(datum) : 0 };
      }).reduce((a, b) => (b.away > a.away ? b : a));
      if (worst.away < ASTRAY) break;
      data = data.filter((d) => d !== worst.datum);
      fit = fitKnob(data, prior);
    }
    // Without a rig file the travel counts as learned once it is better than a guess.
    if (fit && (travelPerTurn(rig?.knobs?.[knob]) || fit.sigma < 0.4 * Math.abs(fit.travel))) fits.set(
      knob, { fit, used: data, count: data.length, setAside: count - data.length },
    );
  }
  const azimuth = fits.get('azimuth');
  const altitude = fits.get('altitude');
  const cross = azimuth && altitude ? fitCross(azimuth, altitude, recent, session) : null;
  const learned = (knob: KnobName): LearnedKnob | null => {
    const found = fits.get(knob);
    if (!found) return null;
    const { fit, count, setAside } = found;
    const own = cross ? cross[knob] : fit;
    return {
      travel: own.travel, sigma: own.sigma, count, setAside, backlash: fit.backlash,
      ...knobNow(recent, knob, session, fit.backlash?.turns ?? rig?.knobs?.[knob]?.backlashTurns ?? 0),
      againstRig: priorOf(rig, knob).sign === -Math.sign(own.travel) && Math.abs(own.travel) > 3 * own.sigma,
    };
  };
  return { azimuth: learned('azimuth'), altitude: learned('altitude'), cross: cross && cross.cross };
}

/** Every adjustment of a knob: its steps, what they did, what else was turned. */
function dataOf(adjustments: readonly Adjustment[], knob: KnobName, session: string): Datum[] {
  const other: KnobName = knob === 'azimuth' ? 'altitude' : 'azimuth';
  return adjustments.flatMap((adjustment, index) => {
    const steps = stepsOf(adjustment, knob);
    if (steps.length === 0 || !(adjustment.sigma[knob] >= 0) || !Number.isFinite(adjustment.change[knob])) return [];
    return [{
      index, session: adjustment.session, steps,
      change: adjustment.change[knob], sigma: adjustment.sigma[knob],
      // Only in this session's set-up does the other knob cause anything but noise.
      otherChange: stepsOf(adjustment, other).length > 0 ? adjustment.change[other] : 0,
      current: adjustment.session === session,
    }];
  });
}

function stepsOf(adjustment: Adjustment, knob: KnobName): number[] {
  return adjustment.turns.filter((t) => t.knob === knob && t.turns !== 0).map((t) => t.turns);
}

/** How the knob stands now: the direction of its last turn, and what each direction loses to play before the axis moves. */
function knobNow(
  adjustments: readonly Adjustment[], knob: KnobName, session: string, backlash: number,
): Pick<LearnedKnob, 'last' | 'slack'> {
  const steps = adjustments.filter((a) => a.session === session).flatMap((a) => stepsOf(a, knob));
  const final = steps.at(-1);
  const { ahead } = playTurns(steps, backlash, null);
  return {
    last: final === undefined ? null : final > 0 ? 1 : -1,
    slack: ahead === null ? { clockwise: 0, counterClockwise: 0 } : { clockwise: ahead, counterClockwise: backlash - ahead },
  };
}

function priorOf(rig: FacingRig | null, knob: KnobName): TravelPrior {
  const given = travelPerTurn(rig?.knobs?.[knob]);
  const sign = clockwiseSign(rig?.knobs?.[knob]?.clockwise);
  return given ? { size: given.perTurn, spread: RIG_SPREAD, sign } : { ...ANY_KNOB, sign };
}
