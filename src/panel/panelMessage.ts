import { type DialInk, type DialTurn, knobDial } from '../picture/knobDial.js';
import type { PanelKnob, PanelView } from './panelView.js';

/** What the page is sent: the view, with each turn drawn. */
export interface PanelMessage extends Omit<PanelView, 'knobs'> {
  readonly knobs: readonly DrawnKnob[];
  /** The computer's clock as it was sent, ms since 1970. */
  readonly now: number;
}

export interface DrawnKnob extends Omit<PanelKnob, 'turn'> {
  /** An `svg` element. */
  readonly dial: string;
  /** One to three short lines for the middle of the dial, larger than the drawing's own. */
  readonly middle: readonly string[];
}

const INK: DialInk = { turn: 'var(--text)', line: 'var(--text)', faint: 'var(--line)' };

export function panelMessage(view: PanelView, now: number): PanelMessage {
  return {
    ...view, now,
    knobs: view.knobs.map(({ turn, ...knob }) => ({ ...knob, dial: knobDial(turn, INK, { size: 200 }), middle: middleLines(turn) })),
  };
}

/** "0.43 ↻"; past the goal and back in two lines. The words are the drawing's, for screen readers. */
function middleLines({ act, steps, turns, trial }: DialTurn): string[] {
  if (act === 'try' && trial !== null) return ['try', turned(trial)];
  if (act === 'find-direction') return [`${Math.abs(turns ?? trial ?? 0).toFixed(2)}`, '↻ or ↺'];
  if (steps.length === 0) return ['leave', 'it'];
  if (act === 'tap') return ['tap', ...steps.map(turned)];
  // A single turn has room for a large arrow.
  return steps.length === 1 ? [amount(steps[0]!), sign(steps[0]!)] : steps.map(turned);
}

function turned(turns: number): string {
  return `${amount(turns)} ${sign(turns)}`;
}

function amount(turns: number): string {
  const size = Math.abs(turns);
  return size.toFixed(size >= 10 ? 1 : 2);
}

function sign(turns: number): string {
  return turns < 0 ? '↺' : '↻';
}
