/** What the panel's server puts up with. Durations in milliseconds. */
export interface PanelLimits {
  /** Event streams open at once. */
  readonly streams: number;
  /** Connections open at once, in all and from one address. */
  readonly connections: number;
  readonly connectionsAnAddress: number;
  /** Bytes of a request's first line and headers. */
  readonly headerBytes: number;
  /** For the headers to arrive; a connection that says nothing has no longer either. */
  readonly headersMs: number;
  /** A connection that waits for its next request. */
  readonly keepAliveMs: number;
  /** A stream whose client has taken nothing. */
  readonly stalledMs: number;
  /** Between signs of life on a stream. */
  readonly beatMs: number;
}

/** Room for a club's evening; anything more is a fault or a rude client. */
export const PANEL_LIMITS: PanelLimits = {
  streams: 64, connections: 192, connectionsAnAddress: 128, headerBytes: 8192, headersMs: 5000, keepAliveMs: 5000, stalledMs: 30_000,
  beatMs: 5000,
};
