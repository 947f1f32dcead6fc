import { axisError, fromHorizontal } from '../../src/axis/axisError.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Rotation, apply, compose, rotationAbout } from '../../src/geometry/rotation.js';
import type { Vector } from '../../src/geometry/vector.js';
import { adviseTurns } from '../../src/knobs/adviseTurns.js';
import { learnKnobs } from '../../src/knobs/learnKnobs.js';
import type { Adjustment, KnobTurned } from '../../src/knobs/learnedKnobs.js';
import type { FacingRig } from '../../src/knobs/rigFacing.js';
import { makeRandom } from '../../src/simulate/random.js';

/** A mount whose knobs do not do what their owner thinks. All invented. Angles in arcminutes, degrees where named so. */
export interface HiddenMount {
  readonly latitudeDeg: number;
  /** The base's lean, and the azimuth toward which it leans. */
  readonly leanDeg: number;
  readonly leanTowardDeg: number;
  /** True travel of a clockwise turn: east or up positive. */
  readonly azimuthPerTurn: number;
  readonly altitudePerTurn: number;
  /** Turns lost on reversing. */
  readonly play: number;
}

/** How the owner turns and measures. */
export interface Hand {
  /** One sigma of a turn t: floor + share · |t|, at most `most`; in turns. */
  readonly floor: number;
  readonly share: number;
  readonly most: number;
  /**
   * True: keeps an eye on where the knob stood, so that past the goal and back ends off by the error of the turn between start and end,
   * as the advice asks for. False: makes both turns by feel, each with its own error.
   */
  readonly marks: boolean;
  readonly measureArcsec: number;
}

export interface Night {
  readonly mount: HiddenMount;
  readonly rig: FacingRig | null;
  readonly start: { readonly azimuth: number; readonly altitude: number };
}

/** Nights: the rig's travel off by 40 % either way, 0.15 turn of play, base tilted by 3°, errors to ±60′. */
export function nightNumber(n: number, seed = 'nights'): Night {
  const { uniform } = makeRandom(`${seed} ${n}`);
  const either = (): number => (uniform() < 0.5 ? -1 : 1);
  const said = { azimuth: 15 + 30 * uniform(), altitude: 15 + 30 * uniform() };
  const way = { azimuth: either(), altitude: either() };
  return {
    mount: {
      latitudeDeg: 25 + 35 * uniform(), leanDeg: 3, leanTowardDeg: 360 * uniform(), play: 0.15,
      azimuthPerTurn: way.azimuth * said.azimuth * (1 + 0.4 * either()),
      altitudePerTurn: way.altitude * said.altitude * (1 + 0.4 * either()),
    },
    rig: { knobs: {
      azimuth: { arcminPerTurn: said.azimuth, clockwise: way.azimuth > 0 ? 'east' : 'west' },
      altitude: { arcminPerTurn: said.altitude, clockwise: way.altitude > 0 ? 'raise' : 'lower' },
    } },
    start: { azimuth: 120 * uniform() - 60, altitude: 120 * uniform() - 60 },
  };
}

/** True separation from the pole, arcminutes, after each round: turn both knobs as advised, measure, learn, until under one arcminute. */
export function playNight(night: Night, hand: Hand, learn: boolean, mostRounds: number, seed: string | number): number[] {
  const { mount, rig, start } = night;
  const random = makeRandom(`hand ${seed}`);
  const pole = fromHorizontal(mount.latitudeDeg * DEGREE, 0);
  const lean = rotationAbout([Math.cos(mount.leanTowardDeg * DEGREE), -Math.sin(mount.leanTowardDeg * DEGREE), 0], mount.leanDeg * DEGREE);
  // Mechanical angles of the mount's own two pivots, found for the start error by a few rounds of correction.
  const pivots = { azimuth: 0, altitude: mount.latitudeDeg * DEGREE };
  const axis = (): Vector => apply(tilted(lean, pivots.azimuth, pivots.altitude), [0, 1, 0]);
  for (let i = 0; i < 30; i++) {
    const error = axisError(axis(), pole);
    pivots.azimuth += start.azimuth * ARCMINUTE - error.azimuth;
    pivots.altitude += start.altitude * ARCMINUTE - error.altitude;
  }
  const knobs = { azimuth: playing(mount.play, random.uniform()), altitude: playing(mount.play, random.uniform()) };
  const sigma = {
    azimuth: hand.measureArcsec * ARCSECOND / Math.cos(mount.latitudeDeg * DEGREE), altitude: hand.measureArcsec * ARCSECOND,
  };
  const look = (): { azimuth: number; altitude: number; separation: number } => {
    const { azimuth, altitude, separation } = axisError(axis(), pole);
    return { azimuth: azimuth + sigma.azimuth * random.normal(), altitude: altitude + sigma.altitude * random.normal(), separation };
  };
  const adjustments: Adjustment[] = [];
  const separations: number[] = [];
  let seen = look();
  for (let round = 0; round < mostRounds && seen.separation >= ARCMINUTE; round++) {
    const learned = learn ? learnKnobs(adjustments, rig, 'tonight') : null;
    const turns: KnobTurned[] = [];
    for (const { knob, steps, trial } of adviseTurns({ ...seen, sigma }, rig, learned)) {
      const asked = steps.length > 0 ? steps : trial !== null ? [trial] : [];
      let meant = 0, stands = 0;
      for (const step of asked) {
        turns.push({ knob, turns: step });
        meant += step;
        const counts = hand.marks ? meant : step;
        const goal = (hand.marks ? meant : stands + step)
          + Math.min(hand.most, hand.floor + hand.share * Math.abs(counts)) * random.normal();
        const made = goal - stands;
        stands = goal;
        const perTurn = knob === 'azimuth' ? mount.azimuthPerTurn : mount.altitudePerTurn;
        pivots[knob] += knobs[knob](made) * perTurn * ARCMINUTE;
      }
    }
    const then = look();
    adjustments.push({
      turns, session: 'tonight',
      change: { azimuth: then.azimuth - seen.azimuth, altitude: then.altitude - seen.altitude },
      sigma: { azimuth: sigma.azimuth * Math.SQRT2, altitude: sigma.altitude * Math.SQRT2 },
    });
    seen = then;
    separations.push(then.separation / ARCMINUTE);
  }
  return separations;
}

/** A screw in a nut that has play: tells what of a turn arrives. Its own code, apart from the project's `playTurns`. */
function playing(play: number, share: number): (turn: number) => number {
  let screw = 0;
  let nut = -play * share;
  return (turn) => {
    screw += turn;
    const before = nut;
    // The nut's gap reaches from `nut` to `nut + play`; the screw pushes whichever end it meets.
    if (screw > nut + play) nut = screw - play;
    else if (screw < nut) nut = screw;
    return nut - before;
  };
}

/** Turn about the base's upright, then its own lean: clockwise seen from above is east. */
function tilted(lean: Rotation, azimuth: number, altitude: number): Rotation {
  return compose(lean, compose(rotationAbout([0, 0, 1], -azimuth), rotationAbout([1, 0, 0], altitude)));
}
