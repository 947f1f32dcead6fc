import { type Aim, aimedError } from '../../axis/aim.js';
import type { ErrorRecord, Knob, MeasurementEntry, NoteEntry, Recorded, TurnEntry } from './entry.js';

/** The session as a story: each look at the axis, with what was done before it and what that did. */
export interface Story {
  readonly steps: readonly StoryStep[];
  /** Knobs turned after the last look. */
  readonly turnsSince: readonly TurnEntry[];
  readonly notesSince: readonly NoteEntry[];
}

/** One look at the axis. Angles in arcminutes, + = too high, too far east. */
export interface StoryStep {
  readonly line: number;
  readonly at: string;
  readonly how: MeasurementEntry['how'];
  /** Mid-exposure of its last used frame, ISO UTC; null where the frames say none. */
  readonly utc: string | null;
  readonly framesUsed: number;
  readonly aim: Aim;
  /** From the aimed pole, and one sigma of it. */
  readonly error: ErrorRecord;
  readonly sigma: ErrorRecord;
  /** Between the look before and this one. */
  readonly turns: readonly TurnEntry[];
  readonly notes: readonly NoteEntry[];
  /** How the axis moved since the look before; null for the first look and without a site. */
  readonly moved: AxisChange | null;
  /** What each knob that was turned did, azimuth first. */
  readonly effects: readonly KnobEffect[];
  /** This rotated measurement can't be reconciled with the recheck before it. */
  readonly contradictsRecheck: boolean;
}

/** + = raised, east (the knob's angle). One sigma each; that of two looks is taken as independent, so it is rather too large. */
export interface AxisChange {
  readonly altitudeArcmin: number;
  readonly azimuthArcmin: number;
  readonly altitudeSigmaArcmin: number;
  readonly azimuthSigmaArcmin: number;
}

/** All turns of one knob between two looks against what the axis did. */
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

/** Tells the story of a session's entries. */
export function tellStory(recorded: readonly Recorded[]): Story {
  const steps: StoryStep[] = [];
  let turns: TurnEntry[] = [];
  let notes: NoteEntry[] = [];
  let before: MeasurementEntry | null = null;
  for (const { line, entry } of recorded) {
    if (entry.kind === 'turn') turns.push(entry);
    if (entry.kind === 'note') notes.push(entry);
    if (entry.kind !== 'measurement') continue;
    steps.push(stepOf(line, entry, turns, notes, before));
    before = entry;
    turns = [];
    notes = [];
  }
  return { steps, turnsSince: turns, notesSince: notes };
}

function stepOf(line: number, entry: MeasurementEntry, turns: readonly TurnEntry[], notes: readonly NoteEntry[], before: MeasurementEntry | null): StoryStep {
  const { axis, frames } = entry.measurement;
  const used = frames.filter((f) => f.used);
  const moved = before && changeBetween(before, entry);
  return {
    line, at: entry.at, how: entry.how,
    utc: used.at(-1)?.utc ?? null,
    framesUsed: used.length,
    aim: axis.aim,
    error: aimedError(axis),
    sigma: axis.sigma,
    turns, notes, moved,
    effects: moved ? (['azimuth', 'altitude'] as const).flatMap((knob) => effectOf(knob, turns, moved)) : [],
    contradictsRecheck: before?.how === 'recheck' && entry.how === 'rotation' && turns.length === 0 && moved !== null && isBeyondChance(moved),
  };
}

/** From where the axis points, not from its errors: those change with the aim. */
function changeBetween(before: MeasurementEntry, now: MeasurementEntry): AxisChange | null {
  const a = before.measurement.axis, b = now.measurement.axis;
  const sigma = (key: 'altitudeArcmin' | 'azimuthArcmin'): number | null => {
    const one = a.sigma[key], two = b.sigma[key];
    return one === null || two === null ? null : Math.hypot(one, two);
  };
  const altitudeSigmaArcmin = sigma('altitudeArcmin'), azimuthSigmaArcmin = sigma('azimuthArcmin');
  if (a.altitudeDeg === null || b.altitudeDeg === null || a.azimuthDeg === null || b.azimuthDeg === null) return null;
  if (altitudeSigmaArcmin === null || azimuthSigmaArcmin === null) return null;
  const azimuth = b.azimuthDeg - a.azimuthDeg;
  return {
    altitudeArcmin: (b.altitudeDeg - a.altitudeDeg) * 60,
    azimuthArcmin: (azimuth - 360 * Math.round(azimuth / 360)) * 60,
    altitudeSigmaArcmin, azimuthSigmaArcmin,
  };
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
