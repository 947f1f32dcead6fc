import { statSync } from 'node:fs';
import { homedir } from 'node:os';
import { dirname, isAbsolute, join, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import type { Sourced } from '../frames/frame.js';
import { type Rig, parseRig } from '../knobs/rig.js';
import { FileError, readRegularFile } from './regularFile.js';
import type { RigInForce } from '../tasks/given/rigInForce.js';

/** The name of a rig file unless another is given. */
export const RIG_FILE = 'poleward.json';
/** No rig file is larger. */
const MOST_BYTES = 1 << 20;

/** The parts of the process that the search uses; a parameter for tests. */
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
 * The rig file in force: the one named, else `poleward.json` in the frames' folder or any above it, else in the current folder or above,
 * else in the user's configuration folder; null where there is none. Throws PolewardError where the one found can't be read or is not
 * valid, or the one named does not exist.
 * @param frames folder of the frames (or any file in it), if there are any
 */
export function rigInForce(named: Sourced<string> | null, frames: string | null, around: Surroundings = surroundings()): RigInForce | null {
  if (named) {
    const path = resolve(around.cwd, named.value);
    return { rig: readRig(path, named.value), path, from: named.from };
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
    text = readRegularFile(path, MOST_BYTES, { called: `The rig file ${called}` }).toString('utf8');
  } catch (error) {
    if (!(error instanceof FileError)) throw error;
    if (error.trouble === 'too large') throw new PolewardError(
      'rig-broken', `${called} is too large for a rig file. Give the right one, or make one.`, { remedies: ['make-rig'] },
    );
    if (error.trouble === 'missing') throw new PolewardError(
      'file-unreadable', `There is no rig file ${called}. Check its name, or make one.`, { remedies: ['make-rig'] },
    );
    if (error.trouble === 'folder') throw new PolewardError('file-unreadable', `${called} is a folder. Give the rig file in it.`);
    throw new PolewardError('file-unreadable', `${error.message} Give the rig file itself.`);
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
