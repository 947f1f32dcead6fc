import { type Aim, aimedError } from '../../axis/aim.js';
import type { AxisError } from '../../axis/axisError.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import { correctionWords } from '../corrections.js';
import { type Doubt, doubtsAt } from '../doubts.js';
import { type HappenedBefore, happenedNow } from '../happenings.js';
import { type Night, answersNow, correctionsOf } from '../night.js';
import {
  type DoubtRecord, type ErrorRecord, type Knob, type KeptPicture, type NoteEntry, type OldMeasurement, type Recorded, type TurnEntry,
  type WarningRecord, timeOfAnswer,
} from './entry.js';

/** The night as a story: each look, what was done before it, what that did, and where the axis is. */
export interface Story {
  readonly aim: Aim;
  readonly looks: readonly LookTold[];
  /** Knobs turned after the last look. */
  readonly turnsSince: readonly TurnEntry[];
  readonly notesSince: readonly NoteEntry[];
}

/** One look, as the night understands it now. Angles in arcminutes, + = too high, too far east. */
export interface LookTold {
  readonly file: string;
  /** Mid-exposure, ISO UTC. */
  readonly utc: string;
  /** Null in a session of version 1, which kept no looks. */
  readonly happened: HappenedBefore | null;
  /** From the aimed pole, and its one sigma; null where the looks don't determine the axis. */
  readonly error: ErrorRecord | null;
  readonly sigma: ErrorRecord | null;
  /** Recorded between the look before and this one. */
  readonly turns: readonly TurnEntry[];
  readonly notes: readonly NoteEntry[];
  /** How the axis moved since the look before; null where it is not known of both, and without a site. */
  readonly moved: AxisChange | null;
  /** What each knob that was turned did, azimuth first. */
  readonly effects: readonly KnobEffect[];
  /** What is still in doubt; of the last look only. */
  readonly doubts: readonly (Doubt | DoubtRecord)[];
  /** What this look was answered with was wrong: how, in words. */
  readonly correction: string | null;
  readonly warnings: readonly WarningRecord[];
  readonly picture: KeptPicture | null;
}

/** + = raised, east (the knob's angle). One sigma each; the two looks are taken as independent, so it is rather too large. */
export interface AxisChange {
  readonly altitudeArcmin: number;
  readonly azimuthArcmin: number;
  readonly altitudeSigmaArcmin: number;
  readonly azimuthSigmaArcmin: number;
}

/** All turns of one knob between two looks, compared with what the axis did. */
export interface KnobEffect {
  readonly knob: Knob;
  readonly turns: number;
  readonly followed: boolean;
  /** Null unless each of the turns had an expectation. */
  readonly expectedArcmin: number | null;
  readonly movedArcmin: number;
  readonly sigmaArcmin: number;
}

/** χ² of two degrees of freedom that chance exceeds once in 370 looks, as three sigma of one: −2·ln(0.0027). */
const BEYOND_CHANCE = 11.83;

/** What is known of a look apart from the entries around it. */
type Core = Pick<LookTold, 'file' | 'utc' | 'happened' | 'error' | 'sigma' | 'doubts' | 'correction'>;

/**
 * Tells the story of a session.
 *
 * @param night understood from the session's looks; where it has none, a session of version 1, its measurements stand for them
 */
export function tellStory(recorded: readonly Recorded[], night: Night, aim: Aim): Story {
  const cores = coresOf(night, aim);
  const looks: LookTold[] = [];
  let turns: TurnEntry[] = [];
  let notes: NoteEntry[] = [];
  const take = (core: Core): void => {
    const before = looks.at(-1) ?? null;
    const moved = before && changeBetween(before, core);
    looks.push({
      ...core, turns, notes, moved, warnings: [], picture: null,
      effects: moved ? (['azimuth', 'altitude'] as const).flatMap((knob) => effectOf(knob, turns, moved)) : [],
    });
    turns = [];
    notes = [];
  };
  for (const { entry } of recorded) {
    if (entry.kind === 'turn') turns.push(entry);
    if (entry.kind === 'note') notes.push(entry);
    if (entry.kind === 'look') {
      const core = cores.get(entry.look.utc);
      if (core) take(core);
    }
    if (entry.kind === 'measurement') take(oldCore(entry));
    if (entry.kind === 'answer' || entry.kind === 'measurement') {
      const utc = timeOfAnswer(entry);
      const at = looks.findIndex((l) => l.utc === utc);
      if (at >= 0) looks[at] = { ...looks[at]!, warnings: entry.measurement.warnings, picture: entry.picture ?? null };
    }
  }
  return { aim, looks, turnsSince: turns, notesSince: notes };
}

/** What the night knows of each look, by its time. */
function coresOf(night: Night, aim: Aim): Map<string, Core> {
  const answers = answersNow(night, aim);
  const corrections = new Map(correctionsOf(night).map((c) => [c.look, correctionWords(night, c, aim)]));
  const last = night.looks.length - 1;
  return new Map(night.looks.map((look, i): [string, Core] => {
    const answer = answers[i];
    const levelled = night.setting.site !== null;
    return [look.utc, {
      file: look.file, utc: look.utc, happened: happenedNow(night, i, aim, answers),
      error: answer ? recordOf(aimedError(answer.axis), levelled) : null,
      sigma: answer ? recordOf(answer.axis.sigma, levelled) : null,
      doubts: i === last ? doubtsAt(night, aim) : [],
      correction: corrections.get(i) ?? null,
    }];
  }));
}

function recordOf({ altitude, azimuth, separation }: AxisError, levelled: boolean): ErrorRecord {
  return {
    altitudeArcmin: levelled ? altitude / ARCMINUTE : null, azimuthArcmin: levelled ? azimuth / ARCMINUTE : null,
    separationArcmin: separation / ARCMINUTE,
  };
}

function oldCore(entry: OldMeasurement): Core {
  const { axis, frames } = entry.measurement;
  return {
    file: frames.filter((f) => f.used).at(-1)?.file ?? '', utc: timeOfAnswer(entry), happened: null, error: aimedError(axis),
    sigma: axis.sigma,
    doubts: entry.measurement.doubts ?? [], correction: null,
  };
}

/** Errors count azimuth as + = east in either hemisphere, and so do their differences. */
function changeBetween({ error: from, sigma: fromSigma }: Core, { error: to, sigma: toSigma }: Core): AxisChange | null {
  const part = (key: 'altitudeArcmin' | 'azimuthArcmin'): readonly [number, number] | null => {
    const [a, b, sa, sb] = [from?.[key], to?.[key], fromSigma?.[key], toSigma?.[key]];
    return typeof a === 'number' && typeof b === 'number' && typeof sa === 'number' && typeof sb === 'number'
      ? [b - a, Math.hypot(sa, sb)]
      : null;
  };
  const [up, east] = [part('altitudeArcmin'), part('azimuthArcmin')];
  return up && east && { altitudeArcmin: up[0], azimuthArcmin: east[0], altitudeSigmaArcmin: up[1], azimuthSigmaArcmin: east[1] };
}

function effectOf(knob: Knob, turns: readonly TurnEntry[], moved: AxisChange): KnobEffect[] {
  const mine = turns.filter((t) => t.knob === knob);
  if (mine.length === 0) return [];
  return [{
    knob,
    turns: mine.reduce((sum, t) => sum + t.turns, 0),
    followed: mine.some((t) => t.followed),
    expectedArcmin: mine.reduce<number | null>((sum, t) => (sum === null || t.expectedArcmin === null ? null : sum + t.expectedArcmin), 0),
    movedArcmin: knob === 'azimuth' ? moved.azimuthArcmin : moved.altitudeArcmin,
    sigmaArcmin: knob === 'azimuth' ? moved.azimuthSigmaArcmin : moved.altitudeSigmaArcmin,
  }];
}

/** Whether the axis moved by more than the errors of both looks explain. */
export function isBeyondChance(moved: AxisChange): boolean {
  const { altitudeArcmin, azimuthArcmin, altitudeSigmaArcmin, azimuthSigmaArcmin } = moved;
  return (altitudeArcmin / altitudeSigmaArcmin) ** 2 + (azimuthArcmin / azimuthSigmaArcmin) ** 2 > BEYOND_CHANCE;
}

/** The last look whose axis is known; null before the first. */
export function lastKnown({ looks }: Story): (LookTold & { readonly error: ErrorRecord; readonly sigma: ErrorRecord }) | null {
  return looks.filter(
    (l): l is LookTold & { readonly error: ErrorRecord; readonly sigma: ErrorRecord } => l.error !== null && l.sigma !== null,
  ).at(-1) ?? null;
}
