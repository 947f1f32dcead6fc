import type { DialTurn } from '../picture/knobDial.js';

/** All that a panel shows, in words and numbers ready to read. Without file paths. */
export interface PanelView {
  /** Azimuth, then altitude; empty while nothing is known of them. */
  readonly knobs: readonly PanelKnob[];
  readonly off: PanelOff | null;
  /** What to do next: a sentence or two. */
  readonly next: string;
  readonly trouble: PanelTrouble | null;
  readonly cautions: readonly string[];
  /** The last frame, usable or not; null before the first. */
  readonly frame: PanelFrame | null;
}

/** One knob: how far off, which way, and the turn that corrects it. */
export interface PanelKnob {
  readonly name: 'azimuth' | 'altitude';
  /** "24.3′" */
  readonly off: string;
  /** The same for screen readers: "24.3 arcminutes too far east". */
  readonly offSaid: string;
  /** "± 0.1″", one sigma. */
  readonly sure: string;
  /** Where the axis must go: "west, left"; "leave it" where there is nothing to do. */
  readonly way: string;
  /** Seen facing the pole. */
  readonly arrow: '←' | '→' | '↑' | '↓' | '';
  readonly turn: DialTurn;
}

/** Distance from the pole, arcminutes. */
export interface PanelOff {
  /** "21.9′ ± 0.1″ off the pole" */
  readonly text: string;
  readonly arcmin: number;
  readonly limitArcmin: number;
  readonly within: boolean;
}

/** Something that must be checked before another knob is turned. */
export interface PanelTrouble {
  /** One to four words, to be read from a distance. */
  readonly headline: string;
  readonly detail: string;
}

export interface PanelFrame {
  /** When it was read, by the computer's clock, ms since 1970. */
  readonly at: number;
  /** What happened before it, as understood. */
  readonly taken: string;
}

/** Before the first frame. */
export function emptyView(next: string): PanelView {
  return { knobs: [], off: null, next, trouble: null, cautions: [], frame: null };
}
