import { readFileSync, statSync } from 'node:fs';
import { homedir } from 'node:os';
import { dirname, isAbsolute, join, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { zoneMinutes } from '../frames/dateText.js';
import type { Sourced } from '../frames/frame.js';
import { type Rig, parseRig } from '../knobs/rig.js';
import type { CommonOptions } from '../cli/commonOptions.js';

/** How a rig file is called where nobody names it. */
export const RIG_FILE = 'poleward.json';
/** More than any rig file holds. */
const MOST_BYTES = 1 << 20;

export interface RigInForce {
  readonly rig: Rig;
  readonly path: string;
  /** How it was found. */
  readonly from: '--rig' | 'folder of the frames' | 'current folder' | 'user configuration';
}

/** What of the process the search looks at; a parameter for tests. */
export interface Surroundings {
  readonly platform: NodeJS.Platform;
  readonly env: Readonly<Record<string, string | undefined>>;
  readonly home: string;
  readonly cwd: string;
}

export function surroundings(): Surroundings {
  return { platform: process.platform, env: process.env, home: homedir(), cwd: process.cwd() };
}

/**
 * The folder for a user's own configuration: XDG_CONFIG_HOME or ~/.config (XDG Base Directory Specification, where a relative path
 * counts as unset), ~/Library/Application Support on macOS, %APPDATA% on Windows.
 */
export function userConfigurationFolder({ platform, env, home }: Surroundings): string {
  if (platform === 'win32') return join(env['APPDATA'] || join(home, 'AppData', 'Roaming'), 'poleward');
  if (platform === 'darwin') return join(home, 'Library', 'Application Support', 'poleward');
  const xdg = env['XDG_CONFIG_HOME'];
  return join(xdg && isAbsolute(xdg) ? xdg : join(home, '.config'), 'poleward');
}

/**
 * The rig file that holds: `--rig`, else `poleward.json` in the frames' folder or any above it, else in the current folder or above,
 * else in the user's configuration folder; null where there is none. Throws PolewardError where the one found can't be read or is
 * broken, or the one named does not exist.
 * @param frames folder of the frames (or any file in it may stand in for it), if there are any
 */
export function rigInForce(named: string | undefined, frames: string | null, around: Surroundings = surroundings()): RigInForce | null {
  if (named !== undefined) {
    const path = resolve(around.cwd, named);
    return { rig: readRig(path, named), path, from: '--rig' };
  }
  const places: [string[], RigInForce['from']][] = [
    [frames === null ? [] : folderAndAbove(folderOf(resolve(around.cwd, frames))), 'folder of the frames'],
    [folderAndAbove(around.cwd), 'current folder'],
    [[userConfigurationFolder(around)], 'user configuration'],
  ];
  for (const [folders, from] of places) {
    for (const folder of folders) {
      const path = join(folder, RIG_FILE);
      if (isFile(path)) return { rig: readRig(path, path), path, from };
    }
  }
  return null;
}

/** Reads and checks one rig file. */
export function readRig(path: string, called: string): Rig {
  let text: string;
  try {
    if (statSync(path).size > MOST_BYTES) throw new PolewardError('rig-broken', `${called} is too large for a rig file. Give the one that poleward rig --init wrote.`);
    text = readFileSync(path, 'utf8');
  } catch (error) {
    if (error instanceof PolewardError) throw error;
    const code = error instanceof Error && 'code' in error ? String(error.code) : String(error);
    if (code === 'ENOENT') throw new PolewardError('file-unreadable', `There is no rig file ${called}. Make one with: poleward rig --init ${called}`);
    if (code === 'EISDIR') throw new PolewardError('file-unreadable', `${called} is a folder. Give the rig file in it.`);
    throw new PolewardError('file-unreadable', `The rig file ${called} can't be read (${code}). Check who may read it.`);
  }
  return parseRig(text, called);
}

function folderOf(path: string): string {
  try {
    return statSync(path).isDirectory() ? path : dirname(path);
  } catch {
    return dirname(path);
  }
}

function folderAndAbove(folder: string): string[] {
  const folders = [folder];
  for (let at = folder; dirname(at) !== at; at = dirname(at)) folders.push(dirname(at));
  return folders;
}

function isFile(path: string): boolean {
  try {
    return statSync(path).isFile();
  } catch {
    return false;
  }
}

/** What the command line and the rig file say of site, clock and optics, each with where it is from; null where neither says it. */
export interface GivenValues {
  readonly latitudeDeg: Sourced<number> | null;
  readonly longitudeDeg: Sourced<number> | null;
  readonly elevationMetres: Sourced<number> | null;
  /** East of UTC: the zone of the camera's clock, where a frame carries none. */
  readonly utcOffsetMinutes: Sourced<number> | null;
  /** Seconds that the camera's clock is ahead: take them off every frame's time. */
  readonly clockAheadSeconds: Sourced<number> | null;
  readonly focalLengthMillimetres: Sourced<number> | null;
  readonly pixelSizeMicrometres: Sourced<number> | null;
}

/** An elevation belongs to its site: it does not count where the command line names a place farther off than this (degrees). */
const SAME_PLACE = 0.2;

/** Command line beats rig file; the frame header comes after both (`null` here). */
export function givenValues(options: Partial<CommonOptions>, found: RigInForce | null): GivenValues {
  const { site, clock, camera } = found?.rig ?? {};
  const from = found ? `rig file ${found.path}` : '';
  const first = (option: number | undefined, name: string, rig: number | undefined): Sourced<number> | null =>
    option !== undefined ? { value: option, from: name } : rig !== undefined ? { value: rig, from } : null;
  const latitudeDeg = first(options.latitude, '--latitude', site?.latitudeDeg);
  const longitudeDeg = first(options.longitude, '--longitude', site?.longitudeDeg);
  const elsewhere = site !== undefined && latitudeDeg !== null && longitudeDeg !== null
    && (Math.abs(latitudeDeg.value - site.latitudeDeg) > SAME_PLACE || Math.abs(Math.sin((longitudeDeg.value - site.longitudeDeg) * Math.PI / 360)) > Math.sin(SAME_PLACE * Math.PI / 360));
  return {
    latitudeDeg, longitudeDeg,
    elevationMetres: first(options.elevation, '--elevation', elsewhere ? undefined : site?.elevationMetres),
    utcOffsetMinutes: first(options.utcOffset, '--utc-offset', clock?.utcOffset === undefined ? undefined : zoneMinutes(clock.utcOffset) ?? undefined),
    clockAheadSeconds: first(options.clockAhead, '--clock-ahead', clock?.offsetSeconds),
    focalLengthMillimetres: first(options.focalLength, '--focal-length', camera?.focalLengthMillimetres),
    pixelSizeMicrometres: first(options.pixelSize, '--pixel-size', camera?.pixelSizeMicrometres),
  };
}

/** The options with the rig's values filled in where the command line is silent, for code that looks at nothing but options. */
export function optionsWithRig<T extends CommonOptions>(options: T, found: RigInForce | null): T {
  const given = givenValues(options, found);
  const fill = <K extends keyof CommonOptions>(key: K, value: Sourced<number> | null): Partial<CommonOptions> => (value ? { [key]: value.value } : {});
  return {
    ...options,
    ...fill('latitude', given.latitudeDeg), ...fill('longitude', given.longitudeDeg), ...fill('elevation', given.elevationMetres),
    ...fill('utcOffset', given.utcOffsetMinutes), ...fill('focalLength', given.focalLengthMillimetres), ...fill('pixelSize', given.pixelSizeMicrometres),
  };
}
