import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type Surroundings, rigInForce, userConfigurationFolder } from '../../src/node/rigFile.js';
import { scratchFolder } from '../cli/poleward.js';

function around(change: Partial<Surroundings> = {}): Surroundings {
  const folder = scratchFolder();
  return { platform: 'linux', env: {}, home: join(folder, 'home'), cwd: folder, ...change };
}

function put(folder: string, name: string, text: string): string {
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, name), text);
  return join(folder, name);
}

describe('the rig in force', () => {
  it('is the one named, else that of the frames\' folder or above, else of the current folder or above, else the user\'s own', () => {
    const place = around();
    expect(rigInForce(null, null, place)).toBeNull();
    put(userConfigurationFolder(place), 'poleward.json', '{"name": "user"}');
    expect(rigInForce(null, null, place)).toMatchObject({ from: 'user configuration', rig: { name: 'user' } });
    put(place.cwd, 'poleward.json', '{"name": "current"}');
    const below = join(place.cwd, 'a', 'b');
    mkdirSync(below, { recursive: true });
    expect(rigInForce(null, null, { ...place, cwd: below })).toMatchObject({ from: 'current folder', rig: { name: 'current' } });
    const frames = scratchFolder();
    const frame = put(join(frames, 'night'), 'a.fits', '');
    put(frames, 'poleward.json', '{"name": "frames"}');
    expect(rigInForce(null, frame, place)).toMatchObject({ from: 'folder of the frames', rig: { name: 'frames' } });
    expect(rigInForce(null, join(frames, 'night'), place)).toMatchObject({ rig: { name: 'frames' } });
    put(place.cwd, 'my.json', '{"name": "named"}');
    expect(rigInForce({ value: 'my.json', from: '--rig' }, frame, place)).toMatchObject({ from: '--rig', rig: { name: 'named' } });
  });
  it('lies where the platform keeps a user\'s configuration', () => {
    const at = (change: Partial<Surroundings>): string =>
      userConfigurationFolder({ platform: 'linux', env: {}, home: '/h', cwd: '/', ...change });
    expect(at({})).toBe('/h/.config/poleward');
    expect(at({ env: { XDG_CONFIG_HOME: '/x' } })).toBe('/x/poleward');
    expect(at({ env: { XDG_CONFIG_HOME: 'relative' } })).toBe('/h/.config/poleward');
    expect(at({ platform: 'darwin' })).toBe('/h/Library/Application Support/poleward');
    expect(at({ platform: 'win32', env: { APPDATA: '/a' } })).toBe('/a/poleward');
  });
  it('is told by one sentence where it is missing, a folder, broken or too large', () => {
    const place = around();
    expect(() => rigInForce({ value: 'none.json', from: '--rig' }, null, place)).toThrow(/There is no rig file none\.json/);
    expect(() => rigInForce({ value: '.', from: '--rig' }, null, place)).toThrow(/is a folder/);
    put(place.cwd, 'poleward.json', '{\n"nam": 1}');
    expect(() => rigInForce(null, null, place)).toThrow(/poleward\.json is not a valid rig file[^]*line 2: nam .*did you mean name/);
    put(place.cwd, 'large.json', ' '.repeat(2 << 20));
    expect(() => rigInForce({ value: 'large.json', from: '--rig' }, null, place)).toThrow(/too large/);
  });
});
