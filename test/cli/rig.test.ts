import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { PassThrough } from 'node:stream';
import { describe, expect, it } from 'vitest';
import { initRig } from '../../src/cli/rigInit.js';
import { scratchFolder } from './poleward.js';

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
    const said = await ask(
      file, 'garden\n46 30 N\n11.2\n\n+01:00\n\n\n\n\nn\nEast\n\nm8\n100\nrear bolt\nraise\n38\n50\n3000\n2000\n13\n6.2\n',
    );
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual({
      schema: 'poleward/rig-1', name: 'garden', site: { latitudeDeg: 46.5, longitudeDeg: 11.2 }, clock: { utcOffset: '+01:00' },
      camera: { apertureMillimetres: 50, widthPixels: 3000, heightPixels: 2000 }, mount: { capacityKilograms: 13, payloadKilograms: 6.2 },
      knobs: {
        azimuth: { clockwise: 'east', thread: 'M8', leverArmMillimetres: 100 },
        altitude: { name: 'rear bolt', clockwise: 'raise', arcminPerTurn: 38 },
      },
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
    await expect(ask(file, '')).rejects.toThrow(/nobody to answer/);
    await expect(ask(file, '\n\n\n')).rejects.toThrow(/Every question was skipped/);
    writeFileSync(file, 'precious');
    await expect(ask(file, 'garden\n')).rejects.toThrow(/exists already.*--overwrite/);
    expect(readFileSync(file, 'utf8')).toBe('precious');
    await ask(file, 'garden\n', true);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ name: 'garden' });
    await expect(ask(join(file, 'none', 'r.json'), 'garden\n')).rejects.toThrow(/folder of .* does not exist/);
  });
  it('says in a few words what an answer must be: y or n, one of two, a number, a zone', async () => {
    const first = 'garden\n46,5\n11,2\n\n';
    const refused = async (answers: string): Promise<string> => {
      try {
        await ask(join(scratchFolder(), 'r.json'), answers);
      } catch (error) {
        return (error as Error).message;
      }
      return 'taken';
    };
    expect(await refused(`${first}summer\n`)).toMatch(/"summer" won't do; expected a name such as Europe\/Madrid, or an offset such as \+02:00\. /);
    expect(await refused(`${first}\n\n3,7,6\n`)).toMatch(/"3,7,6" won't do; expected a number from 0\.1 to 1000\. /);
    for (const word of ['ja', 'maybe', '1', 'true']) {
      expect(await refused(`${first}\n\n\n\n\n${word}\n`)).toContain(`"${word}" won't do; expected y or n. `);
    }
    expect(await refused(`${first}\n\n\n\n\nn\nup\n`)).toContain('"up" won\'t do; expected left or right or east or west. ');
    expect(await refused(`${first}\n\n\n\n\nn\nleft\n\nM7.5\n`))
      .toContain('"M7.5" won\'t do; expected a thread from M3 to M24, such as M8 or M8x1. ');
  });
  it('takes decimal commas, zones by their name, the knob\'s direction as left and right', async () => {
    const file = join(scratchFolder(), 'r.json');
    await ask(file, 'garden\n46,5\n11,2\n\nEurope/Rome\n0,5\n3,76\n480,5\nside\nn\nRight\n');
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual({
      schema: 'poleward/rig-1', name: 'garden', site: { latitudeDeg: 46.5, longitudeDeg: 11.2 },
      clock: { zone: 'Europe/Rome', offsetSeconds: 0.5 }, camera: { pixelSizeMicrometres: 3.76, focalLengthMillimetres: 480.5 },
      knobs: { azimuth: { name: 'side', clockwise: 'right' } },
    });
  });
});
