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
  | 'bad-option'
  | 'catalogue-broken'
  | 'rig-broken'
  | 'no-session'
  | 'session-unreadable'
  | 'session-unwritable'
  | 'session-busy'
  | 'session-differs'
  | 'panel-port';

/**
 * An error a person can cause and put right. The message has one sentence of what is wrong and one of what to do;
 * it is shown as it stands, without a stack trace.
 */
export class PolewardError extends Error {
  readonly code: ErrorCode;

  constructor(code: ErrorCode, message: string) {
    super(message);
    this.name = 'PolewardError';
    this.code = code;
  }
}
