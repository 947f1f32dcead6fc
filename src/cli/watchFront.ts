import type { ErrorData, ErrorCode } from '../error.js';
import type { PanelView } from '../panel/panelView.js';
import type { WatchOptions } from './watchOptions.js';

/** What the thread of a watch begins with. */
export interface WatchOrders {
  readonly folder: string;
  readonly options: WatchOptions;
  /** Columns for text. */
  readonly width: number;
}

/** What the thread of a watch sends to the front. */
export type WatchSays =
  /** All is ready; what a panel shows at first. The thread waits for `go`. */
  | { readonly kind: 'begun'; readonly view: PanelView }
  | { readonly kind: 'say' | 'warn'; readonly text: string }
  /** A line of JSON. */
  | { readonly kind: 'line'; readonly value: unknown }
  | { readonly kind: 'view'; readonly view: PanelView }
  /** What to say if the watch were to end now. */
  | { readonly kind: 'farewell'; readonly text: string }
  | { readonly kind: 'failed'; readonly code: ErrorCode; readonly message: string; readonly data: ErrorData };

/** What the front sends to the thread. */
export type WatchTold = 'go' | 'stop';
