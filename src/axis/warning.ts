import type { Remedy } from '../remedy.js';

/** What a person should know about a measurement that still stands. */
export type WarningCode =
  | 'not-one-rotation' | 'small-rotation' | 'few-stars' | 'frame-skipped' | 'clock-suspect' | 'low-pole' | 'scale-differs' | 'no-site'
  | 'frame-unfinished' | 'preview-used' | 'one-of-several' | 'known-look' | 'late-look' | 'corrected' | 'not-recorded' | 'record-damaged'
  | 'air-limits' | 'weak-geometry' | 'place-differs' | 'site-offered';

export interface Warning {
  readonly code: WarningCode;
  /** A sentence of what is wrong and its effect on the answer, and one of what to do. */
  readonly message: string;
  /** What the person can do; a front adds its own option or button. */
  readonly remedies?: readonly Remedy[];
}
