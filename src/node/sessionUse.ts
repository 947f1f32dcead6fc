import { dirname, relative, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { DEGREE } from '../geometry/angle.js';
import { checkSession } from '../night/record/checkSession.js';
import { type KeptPicture, type LaterEntry, type MeasurementRecord, type Recorded, type RotationEntry, type SessionSite, type StartEntry, lastRotation, startEntry } from '../night/record/entry.js';
import { type Session, appendToSession, readSession } from './sessionFile.js';
import { type SessionPlace, placeToRead, placeToWrite } from './sessionPlace.js';
import type { KnobAdvice } from '../knobs/adviseTurns.js';
import type { KnobTurned } from '../knobs/learnedKnobs.js';
import { type InForce, rigName } from '../tasks/given/inForce.js';
import type { Measured } from '../tasks/measure/measureFrames.js';
import type { FrameMarks } from '../picture/frameMarks.js';
import type { SiteInForce } from '../tasks/given/siteInForce.js';
import type { SessionOptions } from '../cli/sessionOptions.js';
import { VERSION } from '../version.js';

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
  folder: string, options: SessionOptions & Partial<InForce>, measured: Measured, record: MeasurementRecord, marks: FrameMarks, before: readonly LaterEntry[] = [],
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
    const entry: LaterEntry = {
      kind: 'measurement', at: new Date().toISOString(), how: 'rotation', measurement: record, state: measured.state, picture: kept(place.path, measured, marks),
    };
    await appendToSession(place.path, [...before, entry], () => beginning(measured, options));
    return said;
  } catch (error) {
    if (!(error instanceof PolewardError)) throw error;
    return `Not recorded: ${error.message}`;
  }
}

/** Records a recheck in the session it went by. Throws PolewardError where frames and session don't belong together. */
export async function recordRecheck(
  { place, session, base }: OpenSession, options: Partial<InForce>, measured: Measured, record: MeasurementRecord, marks: FrameMarks, before: readonly LaterEntry[],
): Promise<void> {
  checkSession(session, framesOf(measured));
  const entry: LaterEntry = {
    kind: 'measurement', at: new Date().toISOString(), how: 'recheck', measurement: record, state: measured.state, base: base.line,
    picture: kept(place.path, measured, marks),
  };
  await appendToSession(place.path, [...before, entry], () => beginning(measured, options));
}

/** The frame as seen from the session's folder, so that both can be moved together. */
function kept(session: string, { known }: Measured, marks: FrameMarks): KeptPicture {
  return { frame: relative(dirname(session), resolve(known.at(-1)!.frame.file)), marks };
}

function beginning({ site, measurement }: Measured, options: Partial<InForce>): StartEntry {
  return { ...startEntry(new Date(), VERSION, sessionSite(site), measurement.hemisphere), rig: rigName(options.rigFile ?? null) };
}

/** Cautions shown and knobs turned, as entries. */
export function happened(
  cautions: readonly { readonly id: string }[], turned: readonly KnobTurned[] = [], followed: readonly KnobAdvice[] | null = null,
): LaterEntry[] {
  const at = new Date().toISOString();
  return [
    ...turned.map(({ knob, turns }): LaterEntry => {
      const advised = followed?.find((a) => a.knob === knob);
      const sign = advised && (advised.move === 'east' || advised.move === 'raise') ? 1 : -1;
      return { kind: 'turn', at, knob, turns, followed: followed !== null, expectedArcmin: advised ? sign * advised.arcmin : null };
    }),
    ...cautions.map(({ id }): LaterEntry => ({ kind: 'caution', at, caution: id })),
  ];
}

/** The session that a measurement with rotation will go into, if there is one already and it is of this night; null otherwise. */
export function sessionAtHand(folder: string, options: SessionOptions, measured: Measured): Session | null {
  if (options.session === false || options.newSession) return null;
  try {
    const session = readSession(placeToWrite({ session: options.session, folder }).path);
    return session && belongs(session, measured) ? session : null;
  } catch (error) {
    if (error instanceof PolewardError) return null;
    throw error;
  }
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
