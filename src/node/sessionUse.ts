import { dirname, relative, resolve } from 'node:path';
import { attempt, PolewardError } from '../error.js';
import { DEGREE } from '../geometry/angle.js';
import { type FramesToAdd, checkSession, whyNotOf } from '../night/record/checkSession.js';
import {
  type KeptPicture, type LaterEntry, type MeasurementRecord, type Recorded, type RotationEntry, type SessionSite, type StartEntry, lastRotation,
  startEntry,
} from '../night/record/entry.js';
import type { Session } from '../night/record/session.js';
import type { FrameMarks } from '../picture/frameMarks.js';
import type { Notice } from '../remedy.js';
import type { SiteInForce } from '../tasks/given/siteInForce.js';
import type { Measured } from '../tasks/measure/measureFrames.js';
import { appendToSession, readSession } from './sessionFile.js';
import { type SessionPlace, findSession, placeToRead, placeToWrite } from './sessionPlace.js';
import { VERSION } from './version.js';

/** Where the night is to be recorded. */
export interface SessionRequest {
  /** The file that the person named; false: nothing is recorded. */
  readonly session?: string | false | undefined;
  readonly newSession?: boolean | undefined;
  /** Where the frames are. */
  readonly folder: string;
}

/** The session that an answer goes into. */
export interface OpenRecord {
  /** Null where nothing is recorded. */
  readonly path: string | null;
  /** What it holds already of this night; null where it is new. */
  readonly session: Session | null;
  /** What the person must be told of where it goes, or why it is not recorded. */
  readonly said: Notice | null;
}

/** An answer, with what the session keeps beside it. */
export interface RecordedAnswer {
  readonly measured: Measured;
  readonly record: MeasurementRecord;
  readonly marks: FrameMarks;
  /** What led to it. */
  readonly before: readonly LaterEntry[];
  /** How the rig is told from others. */
  readonly rig: string | null;
}

/** An open session and the last measurement with rotation in it. */
export interface OpenSession {
  readonly place: SessionPlace;
  readonly session: Session;
  readonly base: Recorded<RotationEntry>;
}

/** Folder of the first frame: where the session is looked for. */
export function folderOf(files: readonly string[]): string {
  return dirname(resolve(files[0] ?? '.'));
}

/** The session that a recheck goes by. Throws PolewardError `no-session` where there is none or nothing measured in it. */
export function openForRecheck(folder: string, named: string | undefined): OpenSession {
  const place = placeToRead({ session: named, folder });
  const session = readSession(place.path);
  const base = session && lastRotation(session.recorded);
  if (!session || !base) {
    throw new PolewardError('no-session', `The session ${place.path} holds no measurement yet. Measure first, with frames turned in right ascension.`);
  }
  return { place, session, base };
}

/** The session beside the frames or named, if there is one that can be read. */
export function sessionThere({ session, newSession, folder }: SessionRequest): Session | null {
  if (session === false || newSession) return null;
  const found = attempt(() => {
    const place = findSession({ session, folder });
    return place && readSession(place.path);
  });
  return found instanceof PolewardError ? null : found;
}

/**
 * Opens the session that a measurement with rotation goes into; where the one at hand is of another night, site or mount a new one.
 * A session that can't be kept must not cost the answer: then nothing is recorded, and it is said.
 */
export function openForRotation({ session: named, newSession, folder }: SessionRequest, measured: Measured): OpenRecord {
  if (named === false) return { path: null, session: null, said: null };
  const opened = attempt((): OpenRecord => {
    const place = placeToWrite({ session: named, newSession, folder });
    const session = readSession(place.path);
    const frames = framesOf(measured);
    if (session === null || whyNotOf(session, frames) === null) return { path: place.path, session, said: place.said === null ? null : { message: place.said } };
    if (named !== undefined) checkSession(session, frames);
    const { path } = placeToWrite({ newSession: true, folder });
    const message = [place.said, `The session at hand is of another night or place, so a new one was begun: ${path}.`].filter((s) => s !== null).join(' ');
    return { path, session: null, said: { message } };
  });
  return opened instanceof PolewardError ? { path: null, session: null, said: notRecorded(opened) } : opened;
}

/** Records a measurement with rotation, and what led to it. Returns what to say about where it went. */
export async function recordRotation({ path, said }: OpenRecord, answer: RecordedAnswer): Promise<Notice | null> {
  if (path === null) return said;
  const { measured, record, marks, before } = answer;
  const entry: LaterEntry = {
    kind: 'measurement', at: new Date().toISOString(), how: 'rotation', measurement: record, state: measured.state, picture: kept(path, measured, marks),
  };
  try {
    await appendToSession(path, [...before, entry], () => beginning(answer));
    return said;
  } catch (error) {
    if (!(error instanceof PolewardError)) throw error;
    return notRecorded(error);
  }
}

/** Records a recheck in the session it went by. Throws PolewardError where frames and session don't belong together. */
export async function recordRecheck({ place, session, base }: OpenSession, answer: RecordedAnswer): Promise<void> {
  const { measured, record, marks, before } = answer;
  checkSession(session, framesOf(measured));
  const entry: LaterEntry = {
    kind: 'measurement', at: new Date().toISOString(), how: 'recheck', measurement: record, state: measured.state, base: base.line,
    picture: kept(place.path, measured, marks),
  };
  await appendToSession(place.path, [...before, entry], () => beginning(answer));
}

function notRecorded({ message, remedies }: PolewardError): Notice {
  return { message: `Not recorded: ${message}`, remedies };
}

/** The frame as seen from the session's folder, so that both can be moved together. */
function kept(session: string, { known }: Measured, marks: FrameMarks): KeptPicture {
  return { frame: relative(dirname(session), resolve(known.at(-1)!.frame.file)), marks };
}

function beginning({ measured: { site, measurement }, rig }: RecordedAnswer): StartEntry {
  return { ...startEntry(new Date(), VERSION, sessionSite(site), measurement.hemisphere), rig };
}

function framesOf(measured: Measured): FramesToAdd {
  return { times: measured.known.map(({ sky }) => sky.time), site: sessionSite(measured.site), hemisphere: measured.measurement.hemisphere };
}

function sessionSite(site: SiteInForce | null): SessionSite | null {
  return site && {
    latitudeDeg: site.site.latitude / DEGREE, longitudeDeg: site.site.longitude / DEGREE, elevationMetres: site.site.elevationMetres,
  };
}
