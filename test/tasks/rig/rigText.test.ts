import { describe, expect, it } from 'vitest';
import { remedyWords } from '../../../src/cli/remedyWords.js';
import { parseRig } from '../../../src/knobs/rig.js';
import { type Said, givenValues } from '../../../src/tasks/given/given.js';
import type { RigInForce } from '../../../src/tasks/given/rigInForce.js';
import { rigJson, rigText } from '../../../src/tasks/rig/rigText.js';

const path = '/rigs/poleward.json';
const rigOf = (rig: unknown): RigInForce => ({ path, from: 'current folder', rig: parseRig(JSON.stringify(rig), path) });
const found = rigOf({
  site: { latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 }, clock: { utcOffset: '-03:30', offsetSeconds: 7 },
  camera: { focalLengthMillimetres: 400 },
  knobs: { altitude: { thread: 'M8', leverArmMillimetres: 100, clockwise: 'lower', name: 'rear bolt' } },
});
const text = (rig: RigInForce | null, said: Said = {}): string => rigText(givenValues(said, rig), rig, 'none here', remedyWords);

describe('the rig in force', () => {
  it('is shown at 60 columns with where each value is from', () => {
    const shown = text(found, { latitudeDeg: { value: 46.6, from: '--latitude' } });
    expect(shown.split('\n').filter((line) => line.length > 60)).toEqual([]);
    expect(shown).toMatch(/latitude +46\.6000° N +--latitude/);
    expect(shown).toMatch(/longitude +11\.2000° E +rig file/);
    expect(shown).toMatch(/clock zone +-03:30 +rig file/);
    expect(shown).toMatch(/altitude knob \(rear bolt\): 43\.0′ a turn, from M8 on a 100\s+mm\s+arm;\s+clockwise\s+lowers/);
    expect(text(null)).toMatch(/^no rig file: none here\. Make one \(poleward rig --init\)\./);
  });
  it('shows what only planning uses, where the file gives it', () => {
    const planning = rigOf({
      camera: { apertureMillimetres: 50, widthPixels: 3000, heightPixels: 2000 }, mount: { capacityKilograms: 13 },
    });
    expect(text(planning)).toMatch(/for planning: aperture 50 mm, frames of 3000x2000 pixels,\s+rated for 13 kg/);
    expect(text(found)).not.toMatch(/for planning/);
  });
  it('as JSON includes the travel of a turn', () => {
    expect(rigJson(givenValues({}, found), found)).toMatchObject({
      from: 'current folder', knobs: { azimuth: null, altitude: { travelArcminPerTurn: 42.9696, travelFrom: 'screw and lever arm' } },
    });
  });
});
