import type { Anchor } from '../../night/anchor.js';
import type { Look } from '../../night/look.js';
import type { News } from '../../night/night.js';
import type { FramesToAdd } from '../../night/record/checkSession.js';
import { type LaterEntry, type MeasurementRecord, type SessionSite, type StartEntry, startEntry } from '../../night/record/entry.js';
import type { FrameMarks } from '../../picture/frameMarks.js';
import type { Hemisphere } from '../../sky/localSky.js';
import { fileName } from '../../fileName.js';
import type { SiteInForce } from '../given/siteInForce.js';
import { type SeenFrames, hemisphereSeen } from './seeFrames.js';

/** The answer to a look, and what is recorded of it. */
export interface AnswerToRecord {
  readonly utc: string;
  readonly record: MeasurementRecord;
  readonly marks: FrameMarks;
  readonly camera: Anchor;
  readonly file: string;
}

/** What is to be recorded of frames that were looked at. */
export interface ToRecord {
  readonly site: SessionSite | null;
  readonly hemisphere: Hemisphere;
  /** What identifies the rig in a session. */
  readonly rig: string | null;
  /** Where the camera was on the mount, by what was known before the night's first frame. */
  readonly remembered: Anchor | null;
  /** What was done before: turns, cautions. */
  readonly before: readonly LaterEntry[];
  readonly looks: readonly { readonly look: Look; readonly news: News }[];
  /** Time of the looks that the first of these replaces: their file has changed since. Absent: none. */
  readonly replaces?: string;
  /** The answer to them; null where there was none yet. */
  readonly answer: AnswerToRecord | null;
}

/**
 * The entries for frames and their answer; none where the night has them already.
 *
 * @param at when they are recorded
 * @param seenFrom a frame's file as the record names it
 */
export function entriesToRecord(
  { before, looks, answer, replaces }: ToRecord, at: Date, seenFrom: (file: string) => string,
): LaterEntry[] {
  const when = at.toISOString();
  const fresh = looks.filter(({ news }) => news !== 'known');
  // What is recorded already is not recorded twice, nor is its answer.
  if (looks.length > 0 && fresh.length === 0) return [];
  return [
    ...before,
    ...fresh.map(({ look }, i): LaterEntry => ({
      kind: 'look', at: when, look: { ...look, file: fileName(look.file) }, frame: seenFrom(look.file),
      ...(replaces !== undefined && i === 0 ? { replaces } : {}),
    })),
    ...(answer ? [{
      kind: 'answer' as const, at: when, utc: answer.utc, measurement: answer.record, camera: answer.camera,
      picture: { frame: seenFrom(answer.file), marks: answer.marks },
    }] : []),
  ];
}

/** The first entry of a session that begins with this. */
export function beginningOf({ site, hemisphere, rig, remembered }: ToRecord, at: Date, version: string): StartEntry {
  return { ...startEntry(at, version, site, hemisphere), rig, ...(remembered ? { remembered } : {}) };
}

/** Time and place of frames. */
export function whereAndWhen(seen: SeenFrames): FramesToAdd {
  return {
    times: seen.known.map(({ sky }) => sky.time), site: sessionSite(seen.site), hemisphere: hemisphereSeen(seen),
    ...(seen.site ? { siteFrom: seen.site.latitudeDeg.from } : {}),
  };
}

export function sessionSite(site: SiteInForce | null): SessionSite | null {
  if (!site) return null;
  const { pressureHectopascal, temperatureCelsius } = site;
  return {
    latitudeDeg: site.latitudeDeg.value, longitudeDeg: site.longitudeDeg.value, elevationMetres: site.site.elevationMetres,
    ...(pressureHectopascal.assumed ? {} : { pressureHectopascal: pressureHectopascal.value }),
    ...(temperatureCelsius.assumed ? {} : { temperatureCelsius: temperatureCelsius.value }),
  };
}
