import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { PassThrough } from 'node:stream';
import { describe, expect, it } from 'vitest';
import { type Surroundings, givenValues, optionsWithRig, rigInForce, userConfigurationFolder } from '../../src/node/rigInForce.js';
import { initRig } from '../../src/tasks/rig/rigInit.js';
import { rigJson, rigText } from '../../src/tasks/rig/rigText.js';
import { scratchFolder } from './poleward.js';

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
    expect(rigInForce(undefined, null, place)).toBeNull();
    put(userConfigurationFolder(place), 'poleward.json', '{"name": "user"}');
    expect(rigInForce(undefined, null, place)).toMatchObject({ from: 'user configuration', rig: { name: 'user' } });
    put(place.cwd, 'poleward.json', '{"name": "current"}');
    const below = join(place.cwd, 'a', 'b');
    mkdirSync(below, { recursive: true });
    expect(rigInForce(undefined, null, { ...place, cwd: below })).toMatchObject({ from: 'current folder', rig: { name: 'current' } });
    const frames = scratchFolder();
    const frame = put(join(frames, 'night'), 'a.fits', '');
    put(frames, 'poleward.json', '{"name": "frames"}');
    expect(rigInForce(undefined, frame, place)).toMatchObject({ from: 'folder of the frames', rig: { name: 'frames' } });
    expect(rigInForce(undefined, join(frames, 'night'), place)).toMatchObject({ rig: { name: 'frames' } });
    put(place.cwd, 'my.json', '{"name": "named"}');
    expect(rigInForce('my.json', frame, place)).toMatchObject({ from: '--rig', rig: { name: 'named' } });
  });
  it('lies where the platform keeps a user\'s configuration', () => {
    const at = (change: Partial<Surroundings>): string => userConfigurationFolder({ platform: 'linux', env: {}, home: '/h', cwd: '/', ...change });
    expect(at({})).toBe('/h/.config/poleward');
    expect(at({ env: { XDG_CONFIG_HOME: '/x' } })).toBe('/x/poleward');
    expect(at({ env: { XDG_CONFIG_HOME: 'relative' } })).toBe('/h/.config/poleward');
    expect(at({ platform: 'darwin' })).toBe('/h/Library/Application Support/poleward');
    expect(at({ platform: 'win32', env: { APPDATA: '/a' } })).toBe('/a/poleward');
  });
  it('is told by one sentence where it is missing, a folder, broken or too large', () => {
    const place = around();
    expect(() => rigInForce('none.json', null, place)).toThrow(/There is no rig file none\.json/);
    expect(() => rigInForce('.', null, place)).toThrow(/is a folder/);
    put(place.cwd, 'poleward.json', '{\n"nam": 1}');
    expect(() => rigInForce(undefined, null, place)).toThrow(/poleward\.json is no rig file[^]*line 2: nam .*did you mean name/);
    put(place.cwd, 'large.json', ' '.repeat(2 << 20));
    expect(() => rigInForce('large.json', null, place)).toThrow(/too large/);
  });
});

describe('values', () => {
  const place = around();
  put(place.cwd, 'poleward.json', JSON.stringify({
    site: { latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 }, clock: { utcOffset: '-03:30', offsetSeconds: 7 }, camera: { focalLengthMillimetres: 400 },
    knobs: { altitude: { thread: 'M8', leverArmMillimetres: 100, clockwise: 'lower', name: 'rear bolt' } },
  }));
  const found = rigInForce(undefined, null, place)!;
  it('come from the command line before the rig file, each with its origin', () => {
    const given = givenValues({ latitude: 46.6, pixelSize: 3 }, found);
    expect(given.latitudeDeg).toEqual({ value: 46.6, from: '--latitude' });
    expect(given.longitudeDeg).toEqual({ value: 11.2, from: `rig file ${found.path}` });
    expect(given).toMatchObject({ elevationMetres: { value: 1200 }, utcOffsetMinutes: { value: -210 }, clockAheadSeconds: { value: 7 }, focalLengthMillimetres: { value: 400 }, pixelSizeMicrometres: { value: 3, from: '--pixel-size' } });
    expect(givenValues({}, null).latitudeDeg).toBeNull();
  });
  it('do not carry the rig\'s elevation to another place', () => {
    expect(givenValues({ latitude: 10, longitude: 20 }, found).elevationMetres).toBeNull();
    expect(givenValues({ latitude: 46.45, longitude: 371.2 }, found).elevationMetres).toMatchObject({ value: 1200 });
  });
  it('fill what the options leave open', () => {
    expect(optionsWithRig({ aim: 'true', latitude: 47 }, found)).toEqual({ aim: 'true', latitude: 47, longitude: 11.2, utcOffset: -210, focalLength: 400 });
    expect(optionsWithRig({ aim: 'true' }, null)).toEqual({ aim: 'true' });
  });
  it('are shown at 60 columns with where each is from', () => {
    const text = rigText({ aim: 'refracted', latitude: 46.6 }, found);
    expect(text.split('\n').filter((line) => line.length > 60 && !line.includes(found.path))).toEqual([]);
    expect(text).toMatch(/latitude +46\.6000° N +--latitude/);
    expect(text).toMatch(/longitude +11\.2000° E +rig file/);
    expect(text).toMatch(/altitude knob \(rear bolt\): 43\.0′ a turn, from M8 on a 100\s+mm\s+arm;\s+clockwise\s+lowers/);
    expect(rigText({ aim: 'refracted' }, null)).toMatch(/no rig file/);
  });
  it('show what only planning asks for, where the file says it', () => {
    const planning = around();
    put(planning.cwd, 'poleward.json', '{"camera": {"apertureMillimetres": 50, "widthPixels": 3000, "heightPixels": 2000}, "mount": {"capacityKilograms": 13}}');
    expect(rigText({ aim: 'refracted' }, rigInForce(undefined, null, planning))).toMatch(/for planning: aperture 50 mm, frames of 3000x2000 pixels,\s+rated for 13 kg/);
    expect(rigText({ aim: 'refracted' }, found)).not.toMatch(/for planning/);
  });
  it('come as JSON with the travel worked out', () => {
    expect(rigJson({ aim: 'refracted' }, found)).toMatchObject({ from: 'current folder', knobs: { azimuth: null, altitude: { travelArcminPerTurn: 42.9696, travelFrom: 'screw and lever arm' } } });
  });
});

describe('rig --init', () => {
  const ask = async (file: string, answers: string, overwrite = false, terminal = false): Promise<string> => {
    const input = Object.assign(new PassThrough(), { isTTY: terminal });
    const output = new PassThrough();
    let said = '';
    output.on('data', (chunk: Buffer) => (said += chunk.toString('utf8')));
    input.end(answers);
    await initRig(file, overwrite, { input, output });
    return said;
  };
  it('writes what was answered and leaves out what was skipped', async () => {
    const file = join(scratchFolder(), 'r.json');
    const said = await ask(file, 'garden\n46 30 N\n11.2\n\n+01:00\n\n\n\n\nno\nEast\n\nm8\n100\nrear bolt\nraise\n38\n50\n3000\n2000\n13\n6.2\n');
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual({
      schema: 'poleward/rig-1', name: 'garden', site: { latitudeDeg: 46.5, longitudeDeg: 11.2 }, clock: { utcOffset: '+01:00' },
      camera: { apertureMillimetres: 50, widthPixels: 3000, heightPixels: 2000 }, mount: { capacityKilograms: 13, payloadKilograms: 6.2 },
      knobs: { azimuth: { clockwise: 'east', thread: 'M8', leverArmMillimetres: 100 }, altitude: { name: 'rear bolt', clockwise: 'raise', arcminPerTurn: 38 } },
    });
    expect(said).toMatch(/without the site there is no altitude/);
    expect(said.split('\n').filter((line) => line.length > 60 && !line.includes(file))).toEqual([]);
  });
  it('takes the end of the answers as skipping the rest, and says what it drops', async () => {
    const file = join(scratchFolder(), 'r.json');
    expect(await ask(file, 'garden\n46.5\n')).toMatch(/Left out.*site\.latitudeDeg/s);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual({ schema: 'poleward/rig-1', name: 'garden' });
  });
  it('asks again at a terminal, and ends at a wrong answer from a pipe', async () => {
    const file = join(scratchFolder(), 'r.json');
    expect(await ask(file, 'garden\n95\n46.5\n11.2\n', false, true)).toMatch(/"95" won't do; expected\s+degrees\s+from -90 to 90/);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ site: { latitudeDeg: 46.5, longitudeDeg: 11.2 } });
    const other = join(scratchFolder(), 'r.json');
    await expect(ask(other, 'garden\n95\n')).rejects.toThrow(/site\.latitudeDeg: "95" won't do.*Nothing was written/);
    expect(() => readFileSync(other)).toThrow();
  });
  it('refuses where nobody answers, where all is skipped, and to overwrite unasked', async () => {
    const file = join(scratchFolder(), 'r.json');
    await expect(ask(file, '')).rejects.toThrow(/nobody answers/);
    await expect(ask(file, '\n\n\n')).rejects.toThrow(/Every question was skipped/);
    writeFileSync(file, 'precious');
    await expect(ask(file, 'garden\n')).rejects.toThrow(/exists already.*--overwrite/);
    expect(readFileSync(file, 'utf8')).toBe('precious');
    await ask(file, 'garden\n', true);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ name: 'garden' });
    await expect(ask(join(file, 'none', 'r.json'), 'garden\n')).rejects.toThrow(/folder of .* does not exist/);
  });
});
