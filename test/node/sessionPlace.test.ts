import { existsSync, mkdirSync, mkdtempSync, readdirSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { placeToRead, placeToWrite } from '../../src/node/sessionPlace.js';
import { stateFolder } from '../../src/node/stateFolder.js';

const scratch = (): string => mkdtempSync(join(tmpdir(), 'poleward place '));
const surroundings = (home: string) => ({ platform: process.platform, env: {}, home });
const FIRST = 'poleward-session.jsonl';

/** A folder that nobody can write to, not even root: it lies below a file. */
function unwritable(): string {
  const file = join(scratch(), 'card');
  writeFileSync(file, '');
  return join(file, 'frames');
}

describe('the state folder follows the platform', () => {
  test.each([
    ['linux', {}, '/home/io', '/home/io/.local/state/poleward'],
    ['linux', { XDG_STATE_HOME: '/var/io/state' }, '/home/io', '/var/io/state/poleward'],
    ['linux', { XDG_STATE_HOME: 'relative/state' }, '/home/io', '/home/io/.local/state/poleward'],
    ['linux', { XDG_STATE_HOME: '', LOCALAPPDATA: 'C:\\x' }, '/home/io', '/home/io/.local/state/poleward'],
    ['freebsd', {}, '/home/io', '/home/io/.local/state/poleward'],
    ['darwin', { XDG_STATE_HOME: '/var/state' }, '/Users/io', '/Users/io/Library/Application Support/poleward'],
    ['win32', { LOCALAPPDATA: 'D:\\io\\Local' }, 'C:\\Users\\io', 'D:\\io\\Local\\poleward'],
    ['win32', {}, 'C:\\Users\\io', 'C:\\Users\\io\\AppData\\Local\\poleward'],
  ])('%s %o', (platform, env, home, expected) => {
    expect(stateFolder({ platform, env, home })).toBe(expected);
  });
});

describe('the session to write', () => {
  test('is beside the frames, and not made yet', () => {
    const folder = scratch();
    expect(placeToWrite({ folder })).toEqual({ path: join(folder, FIRST), said: null });
    expect(readdirSync(folder)).toEqual([]);
  });

  test('is the newest there; a new one comes after it and moves nothing', () => {
    const folder = scratch();
    for (const name of [
      FIRST, 'poleward-session-2.jsonl', 'poleward-session-10.jsonl', 'poleward-session-11.txt',
    ]) writeFileSync(join(folder, name), '');
    expect(placeToWrite({ folder }).path).toBe(join(folder, 'poleward-session-10.jsonl'));
    expect(placeToWrite({ folder, newSession: true }).path).toBe(join(folder, 'poleward-session-11.jsonl'));
    expect(placeToWrite({ folder: scratch(), newSession: true }).path).toMatch(/poleward-session\.jsonl$/);
  });

  test('is the one named, wherever it is', () => {
    const file = join(scratch(), 'mine.jsonl');
    expect(placeToWrite({ folder: unwritable(), session: file })).toEqual({ path: file, said: null });
    expect(placeToWrite({ folder: scratch(), session: file, newSession: true }).path).toBe(file);
    writeFileSync(file, '');
    expect(() => placeToWrite({ folder: scratch(), session: file, newSession: true })).toThrow(/exists already.*new name/);
  });

  test('goes to the state folder where the frames\' folder can\'t be written, and says so', () => {
    const home = scratch();
    const state = stateFolder(surroundings(home));
    const { path, said } = placeToWrite({ folder: unwritable() }, surroundings(home));
    expect(path).toBe(join(state, FIRST));
    expect(said).toContain(path);
    expect(existsSync(state)).toBe(true);
  });

  test('goes there too where the session beside the frames is no file that can be written', () => {
    const folder = scratch(), home = scratch();
    mkdirSync(join(folder, FIRST));
    expect(placeToWrite({ folder }, surroundings(home)).path).toBe(join(stateFolder(surroundings(home)), FIRST));
  });

  test('is refused where neither can be written', () => {
    expect(() => placeToWrite({ folder: unwritable() }, surroundings(unwritable()))).toThrow(expect.objectContaining({
      code: 'session-unwritable',
    }));
  });
});

describe('the session to read', () => {
  test('is the newest beside the frames, else the newest in the state folder, said; else there is none', () => {
    const folder = scratch(), home = scratch();
    const state = stateFolder(surroundings(home));
    expect(() => placeToRead({ folder }, surroundings(home))).toThrow(expect.objectContaining({ code: 'no-session' }));
    mkdirSync(state, { recursive: true });
    writeFileSync(join(state, FIRST), '');
    expect(placeToRead({ folder }, surroundings(home))).toEqual({
      path: join(state, FIRST), said: expect.stringContaining(state) as string,
    });
    writeFileSync(join(folder, 'poleward-session-3.jsonl'), '');
    expect(placeToRead({ folder }, surroundings(home))).toEqual({ path: join(folder, 'poleward-session-3.jsonl'), said: null });
  });

  test('that is named must be there', () => {
    expect(() => placeToRead({ folder: scratch(), session: 'nowhere.jsonl' })).toThrow(/There is no session .*nowhere\.jsonl/);
  });
});
