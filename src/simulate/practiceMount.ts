import type { KnobName } from '../knobs/rig.js';
import { makeRandom } from './random.js';

/** A knob with hidden properties: how far a turn moves the axis, its play, and how much it moves the other coordinate. */
export interface HiddenKnob {
  /** Arcminutes a turn clockwise; + = raise or east. */
  readonly travel: number;
  /** Turns lost on reversing. */
  readonly play: number;
  /** Share of its travel that goes into the other coordinate: the base is not level. */
  readonly tilt: number;
}

/** A virtual mount in its present state: plain data. Angles of the axis in arcminutes from the true pole, + = too high, too far east. */
export interface PracticeMount {
  readonly seed: string;
  readonly knobs: Readonly<Record<KnobName, HiddenKnob>>;
  readonly altitudeArcmin: number;
  readonly azimuthArcmin: number;
  /** Position of each knob within its play, turns from its counter-clockwise end. */
  readonly slack: Readonly<Record<KnobName, number>>;
  /** Right ascension as turned by hand, degrees, west positive. */
  readonly turnedDeg: number;
  /** Frames saved so far. */
  readonly frames: number;
}

/** Off by up to a degree in each coordinate; the knobs are drawn from common values for screws and arms. */
const [LEAST_OFF, MOST_OFF] = [8, 50];
const [LEAST_TRAVEL, MOST_TRAVEL] = [20, 90];
const MOST_PLAY = 0.12;
const MOST_TILT = 0.04;

/** A mount set up roughly, the same for the same seed. */
export function practiceMount(seed: string): PracticeMount {
  const random = makeRandom(seed).stream('practice mount');
  const between = (least: number, most: number): number => least + (most - least) * random.uniform();
  const sign = (): number => (random.uniform() < 0.5 ? -1 : 1);
  const knob = (): HiddenKnob => ({
    travel: sign() * between(LEAST_TRAVEL, MOST_TRAVEL), play: between(0, MOST_PLAY), tilt: between(-MOST_TILT, MOST_TILT),
  });
  return {
    seed, knobs: { azimuth: knob(), altitude: knob() }, altitudeArcmin: sign() * between(LEAST_OFF, MOST_OFF),
    azimuthArcmin: sign() * between(LEAST_OFF, MOST_OFF), slack: { azimuth: 0, altitude: 0 }, turnedDeg: 0, frames: 0,
  };
}

/** The mount after a knob was turned, clockwise positive: its play is taken up first. */
export function withKnobTurned(mount: PracticeMount, name: KnobName, turns: number): PracticeMount {
  const { travel, play, tilt } = mount.knobs[name];
  const slack = Math.min(play, Math.max(0, mount.slack[name] + turns));
  const moved = (turns - (slack - mount.slack[name])) * travel;
  const [own, other] = [moved, tilt * moved];
  return {
    ...mount, slack: { ...mount.slack, [name]: slack },
    azimuthArcmin: mount.azimuthArcmin + (name === 'azimuth' ? own : other),
    altitudeArcmin: mount.altitudeArcmin + (name === 'altitude' ? own : other),
  };
}

/** The mount turned about its right-ascension axis, degrees, west positive. */
export function withTurn(mount: PracticeMount, degrees: number): PracticeMount {
  return { ...mount, turnedDeg: mount.turnedDeg + degrees };
}

/** The mount after a frame was saved. */
export function withFrame(mount: PracticeMount): PracticeMount {
  return { ...mount, frames: mount.frames + 1 };
}
