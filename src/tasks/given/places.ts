import type { FrameMetadata, Sourced } from '../../frames/frame.js';
import { DEGREE } from '../../geometry/angle.js';
import { fileName } from '../../fileName.js';
import type { Rig, RigSite } from '../../knobs/rig.js';
import type { SessionSite } from '../../night/record/entry.js';
import { printable } from '../../printable.js';
import type { GivenValues } from './given.js';
import { type RigInForce, rigSource, shortSource } from './rigInForce.js';

/** A place by one source, in words for a person; half of it may be unknown. */
export interface SaidPlace {
  readonly latitudeDeg: number | null;
  /** East positive. */
  readonly longitudeDeg: number | null;
  readonly from: string;
}

/** What a frame's header says of the place. */
export interface FrameSaying {
  readonly file: string;
  readonly metadata: Pick<FrameMetadata, 'latitudeDeg' | 'longitudeDeg'>;
}

/** Places that differ by more than this in latitude or longitude are two places, degrees: positions are often rounded to a tenth. */
const APART_DEG = 0.1;

/** What the sources say of the place, in order of priority: the person, the rig file, each frame's header, the session. */
export function placesSaid(
  given: Pick<GivenValues, 'latitudeDeg' | 'longitudeDeg'> & { readonly rigFile?: RigInForce | null },
  frames: readonly FrameSaying[], session: SessionSite | null,
): SaidPlace[] {
  const { rigFile = null } = given;
  const own = (value: Sourced<number> | null): Sourced<number> | null => (value && !isOfRig(value.from, rigFile) ? value : null);
  const [latitude, longitude] = [own(given.latitudeDeg), own(given.longitudeDeg)];
  const site = rigFile?.rig.site;
  return [
    ...(latitude || longitude ? [{
      latitudeDeg: latitude?.value ?? null, longitudeDeg: longitude?.value ?? null,
      from: [latitude?.from, longitude?.from].filter((from) => from !== undefined).join(' and '),
    }] : []),
    ...(site ? [{ ...site, from: rigFile.siteName === undefined ? 'rig file' : `rig file, site ${printable(rigFile.siteName)}` }] : []),
    ...frames.flatMap(({ file, metadata: { latitudeDeg, longitudeDeg } }): SaidPlace[] => (latitudeDeg || longitudeDeg ? [{
      latitudeDeg: latitudeDeg?.value ?? null, longitudeDeg: longitudeDeg?.value ?? null,
      from: `${[latitudeDeg?.from, longitudeDeg?.from].filter((from) => from !== undefined).join(' and ')} of ${printable(fileName(file))}`,
    }] : [])),
    ...(session ? [{ latitudeDeg: session.latitudeDeg, longitudeDeg: session.longitudeDeg, from: 'session' }] : []),
  ];
}

/**
 * The first place of each kind of source that differs from this one: one for the rig, one for headers that agree with each other, one for
 * the session.
 */
export function otherPlaces(used: Pick<SaidPlace, 'latitudeDeg' | 'longitudeDeg'>, said: readonly SaidPlace[]): SaidPlace[] {
  const found: SaidPlace[] = [];
  for (const place of said) if (apart(used, place) && !found.some((other) => !apart(other, place))) found.push(place);
  return found;
}

/** "46.500° N, 11.200° E" */
export function placeWords({ latitudeDeg, longitudeDeg }: Pick<SaidPlace, 'latitudeDeg' | 'longitudeDeg'>): string {
  return [
    ...(latitudeDeg === null ? [] : [`${Math.abs(latitudeDeg).toFixed(3)}° ${latitudeDeg < 0 ? 'S' : 'N'}`]),
    ...(longitudeDeg === null ? [] : [`${Math.abs(within180(longitudeDeg)).toFixed(3)}° ${within180(longitudeDeg) < 0 ? 'W' : 'E'}`]),
  ].join(', ');
}

/** The rig file's named site that is where a place is; null where none is. */
export function namedSiteAt(sites: Rig['sites'], place: Pick<SaidPlace, 'latitudeDeg' | 'longitudeDeg'>): string | null {
  if (place.latitudeDeg === null || place.longitudeDeg === null) return null;
  const near = Object.entries(sites ?? {}).filter(([, site]) => !apart(site, place))
    .sort(([, a], [, b]) => distance(a, place) - distance(b, place));
  return near[0]?.[0] ?? null;
}

/** The name of a place's source, without a rig file's path. */
export function isOfRig(from: string, rigFile: RigInForce | null): boolean {
  return rigFile !== null && (from === rigSource(rigFile) || shortSource(from, rigFile) === 'rig file');
}

function distance(site: RigSite, { latitudeDeg, longitudeDeg }: Pick<SaidPlace, 'latitudeDeg' | 'longitudeDeg'>): number {
  const east = within180(site.longitudeDeg - longitudeDeg!) * Math.cos(site.latitudeDeg * DEGREE);
  return Math.hypot(site.latitudeDeg - latitudeDeg!, east);
}

function apart(a: Pick<SaidPlace, 'latitudeDeg' | 'longitudeDeg'>, b: Pick<SaidPlace, 'latitudeDeg' | 'longitudeDeg'>): boolean {
  const far = (x: number | null, y: number | null): boolean => x !== null && y !== null && Math.abs(within180(x - y)) > APART_DEG + 1e-9;
  return far(a.latitudeDeg, b.latitudeDeg) || far(a.longitudeDeg, b.longitudeDeg);
}

function within180(degrees: number): number {
  return degrees - 360 * Math.round(degrees / 360);
}
