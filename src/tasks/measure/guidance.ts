import { aimedError } from '../../axis/aim.js';
import type { AxisResult } from '../../axis/axisResult.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import { type MountEvent, adjustmentsOf } from '../../knobs/adjustmentsOf.js';
import { type KnobAdvice, adviseTurns } from '../../knobs/adviseTurns.js';
import { cautionsFor } from '../../knobs/cautions.js';
import { learnKnobs } from '../../knobs/learnKnobs.js';
import type { Adjustment, KnobTurned, LearnedKnobs } from '../../knobs/learnedKnobs.js';
import type { Rig } from '../../knobs/rig.js';
import { type FacingRig, rigFacing } from '../../knobs/rigFacing.js';
import { type MeasurementRecord, type Recorded, answersIn, cautionsShown } from '../../night/record/entry.js';
import type { Session } from '../../night/record/session.js';

/** The instructions for the person's hands. */
export interface Guidance {
  readonly advice: readonly KnobAdvice[];
  readonly rig: Rig | null;
  readonly learned: LearnedKnobs | null;
  /** Cautions not yet shown in this session. */
  readonly cautions: readonly { readonly id: string; readonly text: string }[];
}

/** What turning knobs has done before: in this session and in earlier ones of the rig. */
export interface KnobHistory {
  /** The session as it was before this answer. */
  readonly session: Session;
  readonly earlier: readonly Adjustment[];
}

/**
 * The turns that remove the error, from the rig file and from what turning has done in this session and earlier ones of the rig.
 *
 * @param history null without a session
 * @param turned knobs turned since its last look; null where the answer is in doubt, and nothing is learned from it
 * @param again also the cautions that were shown before
 */
export function guide(
  result: AxisResult, rig: Rig | null, history: KnobHistory | null, again: boolean, turned: readonly KnobTurned[] | null = [],
): Guidance {
  const { azimuth, altitude } = aimedError(result);
  const errors = { azimuth, altitude, sigma: result.sigma };
  const news: readonly MountEvent[] = turned
    ? [...turned.map((t): MountEvent => ({ kind: 'turn', ...t })), { kind: 'look', ...errors }]
    : [];
  const facing = rig && rigFacing(rig, result.hemisphere);
  const learned = history && learnFrom(history, facing, news);
  const advice = adviseTurns(errors, facing, learned);
  const shown = history ? cautionsShown(history.session.recorded) : new Set<string>();
  return { advice, rig, learned, cautions: cautionsFor({ doing: 'turn', advice, rig }, shown, again) };
}

/** The advice that stood before the knobs were turned. */
export function adviceBefore(history: KnobHistory, rig: Rig | null): KnobAdvice[] {
  const last = answersIn(history.session.recorded).at(-1);
  const look = last && lookOf(last.entry.measurement);
  const facing = rig && rigFacing(rig, history.session.start.hemisphere);
  return look ? adviseTurns(look, facing, learnFrom(history, facing, [])) : [];
}

/** What this session and earlier ones of the rig have shown of the knobs. */
export function knobsLearned(history: KnobHistory, rig: Rig | null): LearnedKnobs {
  return learnFrom(history, rig && rigFacing(rig, history.session.start.hemisphere), []);
}

/**
 * The adjustments in a session's looks and turns, converted to the pole of a hemisphere: a screw that moves the axis east in the north
 * moves it west in the south.
 */
export function adjustmentsIn({ recorded, path, start }: Session, hemisphere: 1 | -1): Adjustment[] {
  const adjustments = adjustmentsOf(eventsOf(recorded), path);
  if (start.hemisphere === hemisphere) return adjustments;
  return adjustments.map((one) => ({ ...one, change: { ...one.change, azimuth: -one.change.azimuth } }));
}

function learnFrom({ session, earlier }: KnobHistory, rig: FacingRig | null, more: readonly MountEvent[]): LearnedKnobs {
  const now = adjustmentsOf([...eventsOf(session.recorded), ...more], session.path);
  return learnKnobs([...earlier, ...now], rig, session.path);
}

function eventsOf(recorded: readonly Recorded[]): MountEvent[] {
  return recorded.flatMap(({ entry }): MountEvent[] => {
    if (entry.kind === 'turn') return [{ kind: 'turn', knob: entry.knob, turns: entry.turns }];
    if (entry.kind !== 'answer' && entry.kind !== 'measurement') return [];
    // Nothing is learned from a look in doubt, nor from the change after it.
    const look = entry.measurement.doubts?.length ? null : lookOf(entry.measurement);
    return [look ? { kind: 'look', ...look } : { kind: 'unknown' }];
  });
}

function lookOf({ axis }: MeasurementRecord): { azimuth: number; altitude: number; sigma: { azimuth: number; altitude: number } } | null {
  const error = aimedError(axis);
  const { sigma } = axis;
  if (error.azimuthArcmin === null || error.altitudeArcmin === null || sigma.azimuthArcmin === null
    || sigma.altitudeArcmin === null) return null;
  return {
    azimuth: error.azimuthArcmin * ARCMINUTE, altitude: error.altitudeArcmin * ARCMINUTE,
    sigma: { azimuth: sigma.azimuthArcmin * ARCMINUTE, altitude: sigma.altitudeArcmin * ARCMINUTE },
  };
}
