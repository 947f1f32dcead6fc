import type { Remedy } from './remedy.js';

/** What went wrong, in one word, for programs. People read the message. */
export type ErrorCode =
  | 'file-unreadable'
  | 'not-an-image'
  | 'file-truncated'
  | 'too-large'
  | 'no-stars'
  | 'not-identified'
  | 'no-time'
  | 'no-rotation'
  | 'too-few-frames'
  | 'size-differs'
  | 'other-camera'
  | 'other-night'
  | 'same-picture'
  | 'same-moment'
  | 'bad-option'
  | 'catalogue-broken'
  | 'rig-broken'
  | 'no-session'
  | 'session-unreadable'
  | 'session-unwritable'
  | 'session-busy'
  | 'session-differs'
  | 'panel-port';

/** What an error carries beside its words. */
export interface ErrorData {
  /** What the person can do, for a front to put its own option or button to. */
  readonly remedies?: readonly Remedy[];
}

/**
 * An error a person can cause and put right. The message has one sentence of what is wrong and one of what to do; a front shows it
 * without a stack trace, with its own names for the remedies ({@link withRemedies}).
 */
export class PolewardError extends Error {
  readonly code: ErrorCode;
  readonly remedies: readonly Remedy[];

  constructor(code: ErrorCode, message: string, { remedies = [] }: ErrorData = {}) {
    super(message);
    this.name = 'PolewardError';
    this.code = code;
    this.remedies = remedies;
  }
}

/** What an attempt gives, or the error a person can put right; other errors go on. */
export function attempt<T>(work: () => T): T | PolewardError {
  try {
    return work();
  } catch (error) {
    if (error instanceof PolewardError) return error;
    throw error;
  }
}
