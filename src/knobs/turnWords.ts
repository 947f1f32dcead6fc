import type { Remedy } from '../remedy.js';
import type { KnobAdvice } from './adviseTurns.js';
import type { Rig } from './rig.js';
import { travelPerTurn } from './travelPerTurn.js';

const FRACTIONS = ['', 'a quarter', 'half', 'three quarters', ''];
const NUMBERS = ['no', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten'];
/** A number nearer than this to a fraction is called by the fraction alone. */
const NEAR = 0.02;

/**
 * A number of turns (its sign is ignored) as a hand makes it: "a quarter turn and a bit (0.31)", "two and a half turns", "just under half a
 * turn (0.46)". The decimal is left out where the words are exact to a hundredth.
 */
export function turnWords(turns: number): string {
  const size = Math.abs(turns);
  const decimal = size.toFixed(2);
  if (size < 0.1) return `${decimal} of a turn`;
  if (size > 10) return `${size.toFixed(1)} turns`;
  const eighth = size < 0.1875;
  const nearest = eighth ? 0.125 : Math.round(size * 4) / 4;
  const whole = Math.floor(nearest);
  const text = eighth ? 'an eighth of a turn' : named(whole, FRACTIONS[(nearest - whole) * 4]!);
  const more = size - nearest;
  const said = more > NEAR ? `${text} and a bit` : more < -NEAR ? `just under ${text}` : text;
  return Math.abs(more) < 0.005 ? said : `${said} (${decimal})`;
}

function named(whole: number, fraction: string): string {
  if (fraction === '') return whole === 1 ? 'one turn' : `${NUMBERS[whole]} turns`;
  if (whole > 0) return `${NUMBERS[whole]} and ${fraction === 'half' ? 'a half' : fraction} turns`;
  return fraction === 'half' ? 'half a turn' : fraction === 'a quarter' ? 'a quarter turn' : `${fraction} of a turn`;
}

/** "east, right as you face the pole": facing north east is at the right hand, facing south at the left. "up" and "down" for altitude. */
export function moveWords(move: KnobAdvice['move'], hemisphere: 1 | -1): string {
  if (move === 'raise') return 'up';
  if (move === 'lower') return 'down';
  const right = (move === 'east') === (hemisphere === 1);
  return `${move}, ${right ? 'right' : 'left'} as you face the pole`;
}

/** What to do at one knob. Plain sentences, not yet broken into lines. */
export interface AdviceWords {
  /** The thing to do, one line. */
  readonly order: string;
  /** How to end the move, or what to do if the direction is unknown; empty where there is nothing to add. */
  readonly how: string;
  /** Why this many turns: where the travel of a turn is from. Empty without one. */
  readonly why: string;
  /** What to report after the turn; a front adds its own option or button. */
  readonly remedies?: readonly Remedy[];
}

/** One knob's advice in words: the turn first. */
export function adviceWords(advice: KnobAdvice, rig: Rig | null, hemisphere: 1 | -1): AdviceWords {
  const { knob, move, act, turns, direction, trial, steps } = advice;
  const called = rig?.knobs?.[knob]?.name;
  const at = called ? `${knob} (${called})` : knob;
  const side = moveWords(move, hemisphere);
  const far = arcminWords(advice.arcmin);
  const why = travelWords(advice, travelPerTurn(rig?.knobs?.[knob]) !== null);
  switch (act) {
    case 'leave':
      return { order: `${at}: right within its error, leave it`, how: '', why: '' };
    case 'below':
      return { order: `${at}: ${far} ${side} is less than the knob can be set to, leave it`, how: '', why };
    case 'try':
      return {
        order: `${at}: move the axis ${far} ${side}`,
        how: `How far a turn goes is not known yet. Try ${turnWords(trial!)} ${trial! < 0 ? 'counter-clockwise' : 'clockwise'}, look `
          + 'again, and say what you turned.',
        why: '', remedies: [{ key: 'say-turned', knob, turns: trial! }],
      };
    case 'find-direction':
      return {
        order: `${at}: ${turnWords(turns!)}, axis ${far} ${side}`,
        how: `Which way the knob turns is not known yet. If you can't see it, try ${turnWords(trial!)} clockwise, look again, and say what `
          + 'you turned.',
        why, remedies: [{ key: 'say-turned', knob, turns: trial! }],
      };
    default: {
      const pair = pairWords(advice, rig);
      if (pair) return {
        order: `${at}: ${pair}, axis ${far} ${side}`, how: 'Loosen first, then tighten as much. Never slacken both.', why,
      };
      const [first, back] = steps;
      const verb = act === 'tap' ? `tap ${direction}, ${Math.abs(turns!).toFixed(2)} of a turn` : `${turnWords(turns!)} ${direction}`;
      if (back === undefined) return {
        order: `${at}: ${verb}, axis ${far} ${side}`, how: act === 'tap' ? 'Tap the knob rather than turn it.' : '', why,
      };
      const forth = first! < 0 ? 'counter-clockwise' : 'clockwise';
      const home = back < 0 ? 'counter-clockwise' : 'clockwise';
      const reason = knob === 'altitude' ? 'so that the last move is up, against the weight' : 'so that the play stays on one side';
      return {
        order: `${at}: ${turnWords(first!)} ${forth}, then ${turnWords(back)} back ${home}; axis ${far} ${side}`,
        how: `Past the goal and back, ${reason}. In the end the knob stands ${Math.abs(turns!).toFixed(2)} of a turn ${direction} of where `
          + 'it stands now.',
        why,
      };
    }
  }
}

/** "loosen the left screw a quarter turn, then tighten the right one as much"; null where it is no push-pull pair. */
function pairWords(advice: KnobAdvice, rig: Rig | null): string | null {
  const azimuth = rig?.knobs?.azimuth;
  if (advice.knob !== 'azimuth' || !azimuth?.pushPull || !azimuth.screw || advice.signedTurns === null) return null;
  const other = azimuth.screw === 'left' ? 'right' : 'left';
  const [loosen, tighten] = advice.signedTurns > 0 ? [other, azimuth.screw] : [azimuth.screw, other];
  const amount = advice.act === 'tap' ? `${Math.abs(advice.turns!).toFixed(2)} of a turn, a touch` : turnWords(advice.turns!);
  return `loosen the ${loosen} screw ${amount}, then tighten the ${tighten} one as much`;
}

/** "from your last six turns: 38 ± 2′ a turn, play 0.15 ± 0.02 turn". */
function travelWords({ travel, backlash, knob }: KnobAdvice, rigGives: boolean): string {
  if (!travel) return '';
  const play = backlash ? `, play ${backlash.turns.toFixed(2)} ± ${backlash.sigma.toFixed(2)} turn` : '';
  if (travel.from === 'learned') {
    const count = travel.count === 1 ? 'last turn' : `last ${NUMBERS[travel.count] ?? travel.count} turns`;
    // A first small turn says little; most of such a figure still comes from the rig file.
    const also = rigGives && travel.sigmaArcmin! > 0.2 * travel.arcminPerTurn ? 'the rig file and ' : '';
    const wrong = travel.againstRig ? '. The rig file has its direction the wrong way round' : '';
    return `${knob}, from ${also}your ${count}: ${withSigma(travel.arcminPerTurn, travel.sigmaArcmin!)}′ a turn${play}${wrong}`;
  }
  const source = travel.from === 'arcminPerTurn' ? 'rig file' : 'rig file, screw and lever arm';
  return `${knob}, from the ${source}: ${travel.arcminPerTurn.toPrecision(3)}′ a turn${play}`;
}

function withSigma(value: number, sigma: number): string {
  const digits = sigma >= 0.95 ? 0 : sigma >= 0.095 ? 1 : 2;
  return `${value.toFixed(digits)} ± ${sigma.toFixed(digits)}`;
}

function arcminWords(arcmin: number): string {
  if (arcmin >= 120) return `${(arcmin / 60).toFixed(2)}°`;
  return `${arcmin >= 10 ? arcmin.toFixed(1) : arcmin.toFixed(2)}′`;
}
