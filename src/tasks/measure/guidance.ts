import { readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { AxisResult } from '../../axis/axisResult.js';
import { PolewardError } from '../../error.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import { type MountEvent, adjustmentsOf } from '../../knobs/adjustmentsOf.js';
import { type KnobAdvice, adviseTurns } from '../../knobs/adviseTurns.js';
import { cautionsFor } from '../../knobs/cautions.js';
import { learnKnobs } from '../../knobs/learnKnobs.js';
import type { Adjustment, KnobTurned, LearnedKnobs } from '../../knobs/learnedKnobs.js';
import type { Rig } from '../../knobs/rig.js';
import { type MeasurementRecord, type Recorded, cautionsShown } from '../../night/record/entry.js';
import { type Session, readSession } from '../../node/sessionFile.js';
import { type InForce, rigName, rigOf } from '../given/inForce.js';
import { aimedError } from '../words/knobWords.js';

/** What the hands are told. */
export interface Guidance {
  readonly advice: readonly KnobAdvice[];
  readonly rig: Rig | null;
  readonly learned: LearnedKnobs | null;
  /** Cautions not yet shown in this session. */
  readonly cautions: readonly { readonly id: string; readonly text: string }[];
}

/**
 * The turns that take the error away, from the rig file and from what turning has done in this session and earlier ones of
 * the rig.
 *
 * @param session the session as it was before this answer; null without one
 * @param turned knobs turned since its last look
 */
export function guide(
  result: AxisResult, options: Partial<InForce> & { readonly cautions?: boolean }, session: Session | null, turned: readonly KnobTurned[] = [],
): Guidance {
  const rig = rigOf(options);
  const { azimuth, altitude } = aimedError(result);
  const errors = { azimuth, altitude, sigma: result.sigma };
  const learned = session && learnFrom(session, [...turned.map((t): MountEvent => ({ kind: 'turn', ...t })), { kind: 'look', ...errors }], options);
  const advice = adviseTurns(errors, rig, learned);
  const shown = session ? cautionsShown(session.recorded) : new Set<string>();
  return { advice, rig, learned, cautions: cautionsFor({ doing: 'turn', advice, rig }, shown, options.cautions ?? false) };
}

/** The advice that stood before the knobs were turned: what `--followed` means. */
export function adviceBefore(session: Session, options: Partial<InForce>): KnobAdvice[] {
  const last = session.recorded.map(({ entry }) => entry).filter((e) => e.kind === 'measurement').at(-1);
  if (!last) return [];
  const look = lookOf(last.measurement);
  return look ? adviseTurns(look, rigOf(options), learnFrom(session, [], options)) : [];
}

/** What this session and earlier ones of the rig have shown of the knobs. */
export function knobsLearned(session: Session, options: Partial<InForce>): LearnedKnobs {
  return learnFrom(session, [], options);
}

function learnFrom(session: Session, more: readonly MountEvent[], options: Partial<InForce>): LearnedKnobs {
  const now = adjustmentsOf([...eventsOf(session.recorded), ...more], session.path);
  return learnKnobs([...earlierAdjustments(session, rigName(options.rigFile ?? null)), ...now], rigOf(options), session.path);
}

/** Adjustments in the other sessions beside this one that were made with the same rig. */
function earlierAdjustments(session: Session, rig: string | null): Adjustment[] {
  if (rig === null) return [];
  const folder = dirname(session.path);
  const others = readdirSync(folder).filter((name) => name.endsWith('.jsonl')).map((name) => join(folder, name)).filter((path) => path !== session.path);
  return others.sort().flatMap((path) => {
    try {
      const other = readSession(path);
      return other && other.start.rig === rig ? adjustmentsOf(eventsOf(other.recorded), path) : [];
    } catch (error) {
      // Something else with that ending: nothing to learn from.
      if (error instanceof PolewardError) return [];
      throw error;
    }
  });
}

function eventsOf(recorded: readonly Recorded[]): MountEvent[] {
  return recorded.flatMap(({ entry }): MountEvent[] => {
    if (entry.kind === 'turn') return [{ kind: 'turn', knob: entry.knob, turns: entry.turns }];
    const look = entry.kind === 'measurement' ? lookOf(entry.measurement) : null;
    return look ? [{ kind: 'look', ...look }] : [];
  });
}

function lookOf({ axis }: MeasurementRecord): { azimuth: number; altitude: number; sigma: { azimuth: number; altitude: number } } | null {
  const error = axis.aim === 'true' ? axis.fromTruePole : axis.fromRefractedPole;
  const { sigma } = axis;
  if (error.azimuthArcmin === null || error.altitudeArcmin === null || sigma.azimuthArcmin === null || sigma.altitudeArcmin === null) return null;
  return {
    azimuth: error.azimuthArcmin * ARCMINUTE, altitude: error.altitudeArcmin * ARCMINUTE,
    sigma: { azimuth: sigma.azimuthArcmin * ARCMINUTE, altitude: sigma.altitudeArcmin * ARCMINUTE },
  };
}
