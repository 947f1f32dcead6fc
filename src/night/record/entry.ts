import type { Aim } from '../../axis/aim.js';
import type { Covariance } from '../../axis/axisResult.js';
import type { Rotation } from '../../geometry/rotation.js';
import type { Vector } from '../../geometry/vector.js';
import type { Lens } from '../../identify/lens.js';
import type { Hemisphere } from '../../sky/localSky.js';
import type { Anchor } from '../anchor.js';
import type { Look } from '../look.js';

/** The schemas that identify a session file in its first entry: of the first version, and of the one that is written now. */
export const OLD_SCHEMA = 'poleward/session-1';
export const SESSION_SCHEMA = 'poleward/session-2';

/** One thing that happened, as one line of JSON in the session file. `at`: ISO UTC with milliseconds, when it was recorded. */
export type SessionEntry = StartEntry | LookEntry | AnswerEntry | OldMeasurement | TurnEntry | NoteEntry | CautionEntry;

export type EntryKind = SessionEntry['kind'];

/** What happens after the start. */
export type LaterEntry = Exclude<SessionEntry, StartEntry>;

/** The session begins: one mount, one place, one night. */
export interface StartEntry {
  readonly schema: typeof SESSION_SCHEMA | typeof OLD_SCHEMA;
  readonly kind: 'start';
  readonly at: string;
  /** Version of the program that began it. */
  readonly version: string;
  /** Null where it was unknown. */
  readonly site: SessionSite | null;
  readonly hemisphere: Hemisphere;
  /** The rig file's name for the rig, else its path; null or absent without one. What its knobs do is learned over its sessions. */
  readonly rig?: string | null;
  /** Where the camera was on the mount by an earlier night; absent where the night began without. */
  readonly remembered?: Anchor;
}

/** Where the mount stands: degrees, north and east positive, metres above the sea. */
export interface SessionSite {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationMetres: number;
  /** Of the air, where they were given. */
  readonly pressureHectopascal?: number;
  readonly temperatureCelsius?: number;
}

/** A frame was recognised: the night is understood from these entries alone. */
export interface LookEntry {
  readonly kind: 'look';
  readonly at: string;
  readonly look: Look;
  /** The frame as seen from the session's folder. */
  readonly frame: string;
  /** Time (ISO UTC) of the looks before this line that no longer count: their file has changed since it was read. */
  readonly replaces?: string;
}

/** What was said of the looks so far. */
export interface AnswerEntry {
  readonly kind: 'answer';
  readonly at: string;
  /** Mid-exposure of the look that was answered, ISO UTC. */
  readonly utc: string;
  readonly measurement: MeasurementRecord;
  /** How the camera sat on the mount: what a later night may remember. */
  readonly camera?: Anchor;
  readonly picture?: KeptPicture;
}

/**
 * Of a session of version 1: where the axis pointed, from frames turned about it (`rotation`), or from what such frames had shown and
 * one frame more (`recheck`).
 */
export interface OldMeasurement {
  readonly kind: 'measurement';
  readonly at: string;
  readonly how: 'rotation' | 'recheck';
  readonly measurement: MeasurementRecord;
  /** That of the rotated measurement that it was made from. */
  readonly state: AxisState;
  readonly picture?: KeptPicture;
}

/**
 * What a later drawing of the newest frame needs, except its pixels: those stay in the frame. The session keeps it as it came; whoever
 * draws checks it. Absent in sessions of earlier versions.
 */
export interface KeptPicture {
  /** The frame, seen from the session's folder. */
  readonly frame: string;
  readonly marks: unknown;
}

/** A knob was turned. */
export interface TurnEntry {
  readonly kind: 'turn';
  readonly at: string;
  readonly knob: Knob;
  /** Turns, + = clockwise seen facing the knob, or the way that `direction` names. */
  readonly turns: number;
  /** What the rig calls the positive direction, if it has words of its own. */
  readonly direction?: string;
  /** The advice was assumed to be followed; nobody counted. */
  readonly followed: boolean;
  /** What it should have moved the axis, + = raise or east (the knob's angle); null where nothing was expected. */
  readonly expectedArcmin: number | null;
}

export type Knob = 'azimuth' | 'altitude';

/** Words of the person, or about the session. */
export interface NoteEntry {
  readonly kind: 'note';
  readonly at: string;
  readonly text: string;
}

/** A caution was shown, by its name, so that it need not be shown again. */
export interface CautionEntry {
  readonly kind: 'caution';
  readonly at: string;
  readonly caution: string;
}

/**
 * The JSON of `measure` and `recheck`, schema poleward/measurement-1. What the session itself reads is typed; all else
 * is kept as it came. Angles are null where the site was unknown.
 */
export interface MeasurementRecord {
  readonly schema: string;
  readonly axis: {
    readonly altitudeDeg: number | null;
    readonly azimuthDeg: number | null;
    readonly fromTruePole: ErrorRecord;
    readonly fromRefractedPole: ErrorRecord;
    /** One sigma of the error from the aimed pole. */
    readonly sigma: ErrorRecord;
    readonly aim: Aim;
    readonly [more: string]: unknown;
  };
  readonly frames: readonly FrameRecord[];
  readonly knobs: readonly KnobRecord[];
  readonly warnings: readonly WarningRecord[];
  readonly doubts?: readonly DoubtRecord[];
  readonly [more: string]: unknown;
}

export interface DoubtRecord {
  readonly code: string;
  readonly message: string;
  readonly settle: string;
}

export interface ErrorRecord {
  readonly altitudeArcmin: number | null;
  readonly azimuthArcmin: number | null;
  readonly separationArcmin: number;
}

export interface FrameRecord {
  readonly file: string;
  readonly used: boolean;
  readonly utc: string | null;
  readonly [more: string]: unknown;
}

export interface KnobRecord {
  readonly knob: Knob;
  readonly move: string;
  readonly arcmin: number;
  readonly turns: number | null;
  readonly direction: string | null;
  readonly [more: string]: unknown;
}

export interface WarningRecord {
  readonly code: string;
  readonly message: string;
}

/** Of a session of version 1: how the camera sat on the mount. */
export interface AxisState {
  /** Mid-exposure of the last used frame, ISO UTC. */
  readonly utc: string;
  /** Local direction of the axis (equatorial at Greenwich where the site was unknown), length 1. */
  readonly axis: Vector;
  /** Camera to local in the last used frame. */
  readonly pose: Rotation;
  readonly lens: Lens;
  /** Pixels of the frames. */
  readonly width: number;
  readonly height: number;
  /** Of the axis against the camera, radians², along up and east at the axis in the last frame: upUp, upEast, eastUp, eastEast. */
  readonly covariance: Covariance;
  readonly hemisphere: Hemisphere;
  readonly aim: Aim;
}

/** An entry with its line number in the file, counted from 1, which never changes. */
export interface Recorded<E extends SessionEntry = SessionEntry> {
  readonly line: number;
  readonly entry: E;
}

/** The first entry of a new session. */
export function startEntry(at: Date, version: string, site: SessionSite | null, hemisphere: Hemisphere): StartEntry {
  return { schema: SESSION_SCHEMA, kind: 'start', at: at.toISOString(), version, site, hemisphere };
}

/** The entries of one kind, in order. */
export function entriesOf<K extends EntryKind>(recorded: readonly Recorded[], kind: K): Recorded<Extract<SessionEntry, { kind: K }>>[] {
  return recorded.filter((r): r is Recorded<Extract<SessionEntry, { kind: K }>> => r.entry.kind === kind);
}

/** Names of the cautions shown so far. */
export function cautionsShown(recorded: readonly Recorded[]): Set<string> {
  return new Set(entriesOf(recorded, 'caution').map(({ entry }) => entry.caution));
}

/** The answers, in the order in which they were given, whatever version recorded them. */
export function answersIn(recorded: readonly Recorded[]): Recorded<AnswerEntry | OldMeasurement>[] {
  return recorded.filter((r): r is Recorded<AnswerEntry | OldMeasurement> => r.entry.kind === 'answer' || r.entry.kind === 'measurement');
}

/** Mid-exposure of the look that an answer is about, ISO UTC. */
export function timeOfAnswer(entry: AnswerEntry | OldMeasurement): string {
  if (entry.kind === 'answer') return entry.utc;
  return entry.measurement.frames.filter((f) => f.used).at(-1)?.utc ?? entry.state.utc;
}

/** The pole that was aimed at last. */
export function aimOf(recorded: readonly Recorded[]): Aim {
  return answersIn(recorded).at(-1)?.entry.measurement.axis.aim ?? 'refracted';
}

/** Whether a knob was turned after the last look. */
export function isTurnedSince(recorded: readonly Recorded[]): boolean {
  const kinds = recorded.map(({ entry }) => entry.kind);
  return kinds.lastIndexOf('turn') > Math.max(kinds.lastIndexOf('look'), kinds.lastIndexOf('measurement'));
}
