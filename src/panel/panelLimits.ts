/** The limits of the panel's server. Durations in milliseconds. */
export interface PanelLimits {
  /** Event streams open at once. */
  readonly streams: number;
  /** Connections open at once, in all and from one address. */
  readonly connections: number;
  readonly connectionsAnAddress: number;
  /** Bytes of a request's first line and headers. */
  readonly headerBytes: number;
  /** For the headers to arrive; also for a connection that sends nothing. */
  readonly headersMs: number;
  /** A connection that waits for its next request. */
  readonly keepAliveMs: number;
  /** A stream whose client has read nothing. */
  readonly stalledMs: number;
  /** Between heartbeats on a stream. */
  readonly beatMs: number;
}

/** Enough for a club's evening; more is a fault or a misbehaving client. */
export const PANEL_LIMITS: PanelLimits = {
  streams: 64, connections: 192, connectionsAnAddress: 128, headerBytes: 8192, headersMs: 5000, keepAliveMs: 5000, stalledMs: 30_000,
  beatMs: 5000,
};
