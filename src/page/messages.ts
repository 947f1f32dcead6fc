import type { Doubt } from '../night/doubts.js';
import type { PanelMessage } from '../panel/panelMessage.js';
import type { KnobTurned } from '../knobs/learnedKnobs.js';
import type { Settings } from './keep/settings.js';

/** The night as the page shows it: plain data, ready to be read. */
export interface NightShown {
  readonly name: string | null;
  /** Dials and large numbers, as on a panel. */
  readonly panel: Omit<PanelMessage, 'frame' | 'now'>;
  /** Null where the looks give no answer yet. */
  readonly answer: AnswerShown | null;
  readonly next: string;
  /** The last look's time and what happened before it; null before the first. */
  readonly last: { readonly utc: string; readonly taken: string } | null;
  readonly turned: readonly KnobTurned[];
  readonly log: LogShown;
}

export interface AnswerShown {
  /** Empty where there is no site and the axis is not good enough. */
  readonly verdict: readonly { readonly order: string; readonly how: string }[];
  readonly sure: readonly string[];
  readonly doubts: readonly Doubt[];
  readonly why: readonly string[];
  /** Time, place, air, and the source of each. */
  readonly assumed: readonly string[];
  readonly warnings: readonly string[];
}

export interface LogShown {
  readonly standing: string;
  readonly place: string;
  /** One text a look, the oldest first. */
  readonly looks: readonly string[];
  readonly since: string;
  /** An SVG drawing; null with fewer than two answers. */
  readonly chart: string | null;
  /** Kept on this device, the newest first. */
  readonly nights: readonly NightListed[];
}

/** A night that is kept on this device. */
export interface NightListed {
  readonly name: string;
  readonly begun: string;
  readonly looks: number;
  readonly open: boolean;
}

/** All that the page shows. */
export interface PageShown {
  readonly night: NightShown;
  readonly settings: Settings;
  /** Sentences about what was just done: frames that can't be used, a new night begun. */
  readonly told: readonly Told[];
  /** The browser keeps the night after this tab is closed. */
  readonly lasting: boolean;
  /** The night is a practice night. */
  readonly practising: boolean;
  /** Files of a watched folder that seem incomplete. */
  readonly unfinished: readonly string[];
}

export interface Told {
  readonly kind: 'trouble' | 'notice';
  readonly text: string;
}

/** Where files are from: picked or dropped together, or one by one from a watched folder. */
export type CameBy = 'picked' | 'folder';

/** What the worker is told, and what it says. */
export type ToWorker =
  /** A part that is packed in the page. */
  | { readonly kind: 'asset'; readonly name: AssetName; readonly packed: string }
  | { readonly kind: 'ask'; readonly number: number; readonly name: string; readonly words: readonly unknown[] }
  | { readonly kind: 'stop' };

export type FromWorker =
  | { readonly kind: 'done'; readonly number: number; readonly result: unknown }
  | { readonly kind: 'failed'; readonly number: number; readonly message: string; readonly stopped: boolean }
  | { readonly kind: 'progress'; readonly what: string; readonly done: number; readonly of: number }
  /** The worker needs a part that is packed in the page. */
  | { readonly kind: 'wanted'; readonly name: AssetName }
  /** Another tab has changed what is kept. */
  | { readonly kind: 'changed'; readonly shown: PageShown };

/** Files for a web server, or one file with all of it inside. */
export type PageForm = 'folder' | 'single';

/** The program's large parts: stars near the poles and of the whole sky, LibRaw, the worker that it runs in, the page's own. */
export type AssetName = 'stars' | 'sky' | 'libraw' | 'raw' | 'worker';
