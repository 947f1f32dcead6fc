import { dirname, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { DEGREE } from '../geometry/angle.js';
import { checkSession } from '../session/checkSession.js';
import { type LaterEntry, type MeasurementRecord, type Recorded, type RotationEntry, type SessionSite, type StartEntry, SESSION_SCHEMA, lastRotation } from '../session/entry.js';
import { type Session, appendToSession, readSession } from '../session/sessionFile.js';
import { type SessionPlace, placeToRead, placeToWrite } from '../session/sessionPlace.js';
import type { Hemisphere } from '../sky/localSky.js';
import type { Measured } from './measureFrames.js';
import type { SiteInForce } from './siteInForce.js';
import type { SessionOptions } from './sessionOptions.js';
import { VERSION } from './version.js';

/** An open session and the last measurement with rotation in it. */
export interface OpenSession {
  readonly place: SessionPlace;
  readonly session: Session;
  readonly base: Recorded<RotationEntry>;
}

/** The session that a recheck goes by. Throws PolewardError `no-session` where there is none or nothing measured in it. */
export function openForRecheck(folder: string, options: SessionOptions): OpenSession {
  if (options.session === false) {
    throw new PolewardError('bad-option', 'A recheck goes by the session\'s last measurement, so it can\'t do without one. Leave out --no-session.');
  }
  const place = placeToRead({ session: options.session, folder });
  const session = readSession(place.path);
  const base = session && lastRotation(session.recorded);
  if (!session || !base) {
    throw new PolewardError('no-session', `The session ${place.path} holds no measurement yet. Measure first, with frames turned in right ascension.`);
  }
  return { place, session, base };
}

/** Folder of the first frame: where the session is looked for. */
export function folderOf(files: readonly string[]): string {
  return dirname(resolve(files[0] ?? '.'));
}

/**
 * Records a measurement with rotation, and what led to it; where the session at hand is of another night, site or mount a new one
 * is begun. Returns what to say about where it went. A session that can't be kept must not cost the answer: then it says that.
 */
export async function recordRotation(
  folder: string, options: SessionOptions, measured: Measured, record: MeasurementRecord, before: readonly LaterEntry[] = [],
): Promise<string | null> {
  if (options.session === false) return null;
  try {
    let place = placeToWrite({ session: options.session, newSession: options.newSession, folder });
    let said = place.said;
    const session = readSession(place.path);
    if (session && !belongs(session, measured)) {
      if (options.session !== undefined) checkSession(session, framesOf(measured));
      place = placeToWrite({ newSession: true, folder });
      said = [place.said, `The session at hand is of another night or place, so a new one was begun: ${place.path}.`].filter((s) => s !== null).join(' ');
    }
    await appendToSession(place.path, [...before, rotationEntry(measured, record)], () => startEntry(measured.site, measured.measurement.hemisphere));
    return said;
  } catch (error) {
    if (!(error instanceof PolewardError)) throw error;
    return `Not recorded: ${error.message}`;
  }
}

/** Records a recheck in the session it went by. Throws PolewardError where frames and session don't belong together. */
export async function recordRecheck(
  { place, session, base }: OpenSession, measured: Measured, record: MeasurementRecord, before: readonly LaterEntry[],
): Promise<void> {
  checkSession(session, framesOf(measured));
  const entry: LaterEntry = {
    kind: 'measurement', at: new Date().toISOString(), how: 'recheck', measurement: record, state: measured.state, base: base.line,
  };
  await appendToSession(place.path, [...before, entry], () => startEntry(measured.site, measured.measurement.hemisphere));
}

function rotationEntry(measured: Measured, record: MeasurementRecord): LaterEntry {
  return { kind: 'measurement', at: new Date().toISOString(), how: 'rotation', measurement: record, state: measured.state };
}

function startEntry(site: SiteInForce | null, hemisphere: Hemisphere): StartEntry {
  return { schema: SESSION_SCHEMA, kind: 'start', at: new Date().toISOString(), version: VERSION, site: sessionSite(site), hemisphere };
}

function framesOf(measured: Measured): Parameters<typeof checkSession>[1] {
  return { times: measured.known.map(({ sky }) => sky.time), site: sessionSite(measured.site), hemisphere: measured.measurement.hemisphere };
}

function belongs(session: Session, measured: Measured): boolean {
  try {
    checkSession(session, framesOf(measured));
    return true;
  } catch (error) {
    if (error instanceof PolewardError) return false;
    throw error;
  }
}

function sessionSite(site: SiteInForce | null): SessionSite | null {
  return site && {
    latitudeDeg: site.site.latitude / DEGREE, longitudeDeg: site.site.longitude / DEGREE, elevationMetres: site.site.elevationMetres,
  };
}
