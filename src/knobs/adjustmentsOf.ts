import type { Adjustment, KnobTurned } from './learnedKnobs.js';

/**
 * What happened at the mount, in order: a look with the error from the aimed pole (radians), a look that is in doubt, or a turn of a knob.
 */
export type MountEvent =
  | {
    readonly kind: 'look'; readonly azimuth: number; readonly altitude: number;
    readonly sigma: { readonly azimuth: number; readonly altitude: number };
  }
  | { readonly kind: 'unknown' }
  | ({ readonly kind: 'turn' } & KnobTurned);

/**
 * The adjustments in a session's events: the turns between two looks with the change they made. Turns before the first look or after the
 * last have no change and are left out. Two looks without a turn between them give none.
 * @param session identifies the session
 */
export function adjustmentsOf(events: readonly MountEvent[], session: string): Adjustment[] {
  const adjustments: Adjustment[] = [];
  let before: Extract<MountEvent, { kind: 'look' }> | null = null;
  let turns: KnobTurned[] = [];
  for (const event of events) {
    if (event.kind === 'turn') {
      turns.push({ knob: event.knob, turns: event.turns });
      continue;
    }
    if (event.kind === 'unknown') {
      before = null;
      turns = [];
      continue;
    }
    if (before && turns.length > 0) {
      adjustments.push({
        turns, session,
        change: { azimuth: event.azimuth - before.azimuth, altitude: event.altitude - before.altitude },
        sigma: {
          azimuth: Math.hypot(event.sigma.azimuth, before.sigma.azimuth),
          altitude: Math.hypot(event.sigma.altitude, before.sigma.altitude),
        },
      });
    }
    before = event;
    turns = [];
  }
  return adjustments;
}
