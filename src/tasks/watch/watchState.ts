import { attempt, PolewardError } from '../../error.js';
import { recheckAxis } from '../../axis/recheckAxis.js';
import { DEGREE } from '../../geometry/angle.js';
import { viewOfState } from '../../night/record/axisState.js';
import type { AxisState } from '../../night/record/entry.js';
import { goesWith, requireSameCamera, requireSameNight } from '../recognise/goesWith.js';
import { type MeasureRequest, type Measured, measureKnown } from '../measure/measureFrames.js';
import { recheckKnown } from '../recheck/recheckFrames.js';
import type { KnownFrame } from '../recognise/recognition.js';
import type { SiteInForce } from '../given/siteInForce.js';

/** What a running watch knows. */
export interface WatchState {
  /** Frames between which the axis has not moved: a new one turned about it grows the measurement. */
  readonly group: readonly KnownFrame[];
  /** The last measurement with rotation; null before the first. */
  readonly base: AxisState | null;
}

/** What a new frame was taken for. */
export type Taken = 'first' | 'begun-anew' | 'not-turned' | 'rotated' | 'adjusted' | 'unchanged' | 'moved-and-turned';

export interface WatchStep {
  readonly state: WatchState;
  readonly taken: Taken;
  /** The new answer; null where the frame gives none yet. */
  readonly measured: Measured | null;
}

/** A turn about the axis, beyond what the drive can have done, that makes a frame one of a rotation. */
const ROTATED = 3 * DEGREE;
/** A move of the axis by more sigmas than this is a knob's. */
const ADJUSTED = 4;

/**
 * Takes one more frame, in the order of exposure: grows the measurement if the mount was turned, rechecks if not. Before there is
 * a measurement, a frame of another camera or night begins one anew.
 *
 * @throws PolewardError `size-differs`, `other-camera`, `other-night` where the frame does not go with the measurement
 */
export function takeFrame(state: WatchState, frame: KnownFrame, site: SiteInForce | null, request: MeasureRequest): WatchStep {
  const { base, group } = state;
  if (base) {
    requireSameCamera(base, frame);
    requireSameNight(base, frame);
  } else if (!group.every((before) => goesWith(before, frame))) {
    return { state: { base, group: [frame] }, taken: 'begun-anew', measured: null };
  }
  if (base && site) {
    const look = recheckAxis(viewOfState(base), frame.identification, frame.sky, request.aim);
    const beyond = Math.max(look.turn - Math.max(0, look.tracked), Math.min(0, look.tracked) - look.turn);
    if (beyond < ROTATED) {
      const moved = Math.hypot(look.moved.altitude / look.sigma.altitude, look.moved.azimuth / look.sigma.azimuth) > ADJUSTED;
      return {
        // After a knob was turned a new measurement begins with this frame.
        state: { base, group: moved ? [frame] : group },
        taken: moved ? 'adjusted' : 'unchanged',
        measured: recheckKnown([{ known: frame }], base, site, request),
      };
    }
  }
  return grow(state, [...group, frame], site, request);
}

function grow(state: WatchState, group: readonly KnownFrame[], site: SiteInForce | null, request: MeasureRequest): WatchStep {
  const frame = group.at(-1)!;
  if (group.length < 2) return { state: { ...state, group }, taken: state.base ? 'moved-and-turned' : 'first', measured: null };
  const measured = attempt(() => measureKnown(group.map((known) => ({ known })), site, request));
  if (measured instanceof PolewardError) return { state: { ...state, group: [frame] }, taken: 'not-turned', measured: null };
  const clash = measured.warnings.some((w) => w.code === 'not-one-rotation');
  // Turned and moved at once: what was known of the axis holds no longer.
  if (clash && group.length > 2) return { state: { ...state, group: [frame] }, taken: 'moved-and-turned', measured: null };
  return { state: { base: measured.state, group }, taken: 'rotated', measured };
}
