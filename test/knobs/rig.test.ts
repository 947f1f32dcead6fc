import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PolewardError } from '../../src/error.js';
import { ARCMINUTE } from '../../src/geometry/angle.js';
import { parseRig } from '../../src/knobs/rig.js';
import { RIG_SCHEMA } from '../../src/knobs/rigSchema.js';
import { COARSE_PITCH_MILLIMETRES, threadPitch } from '../../src/knobs/threads.js';
import { clockwiseSign, travelPerTurn } from '../../src/knobs/travelPerTurn.js';

/** Invented. */
const WHOLE = {
  schema: 'poleward/rig-1', name: 'garden', site: { latitudeDeg: -33.4, longitudeDeg: 151.2, elevationMetres: 60, skyMagnitude: 20.5 },
  clock: { utcOffset: '+10:00', offsetSeconds: -4 },
  camera: {
    pixelSizeMicrometres: 3.76, focalLengthMillimetres: 400, apertureMillimetres: 80, widthPixels: 6248, heightPixels: 4176,
    readNoiseElectrons: 1.5,
  },
  mount: { capacityKilograms: 13, payloadKilograms: 6.2 },
  knobs: {
    azimuth: { arcminPerTurn: 30, clockwise: 'west', pushPull: true, screw: 'left', name: 'side screws' },
    altitude: { thread: 'M8', leverArmMillimetres: 100, clockwise: 'raise', smallestTurn: 0.02, backlashTurns: 0.1 },
  },
};

function fault(text: string): string {
  try {
    parseRig(text, 'rig.json');
  } catch (error) {
    expect(error).toBeInstanceOf(PolewardError);
    expect((error as PolewardError).code).toBe('rig-broken');
    return (error as PolewardError).message;
  }
  throw new Error('no fault found');
}

describe('rig file', () => {
  it('reads all it may hold, and nothing at all', () => {
    expect(parseRig(JSON.stringify(WHOLE))).toEqual(WHOLE);
    expect(parseRig('{}')).toEqual({});
  });
  it('may have a byte order mark, comments and trailing commas', () => {
    expect(parseRig('\uFEFF{ // mine\n "name": "a", }')).toEqual({ name: 'a' });
  });
  it('names line, field and what was expected', () => {
    expect(fault('{\n  "site": {\n    "latitudeDeg": 95,\n    "longitudeDeg": 3\n  }\n}')).toMatch(
      /line 3: site\.latitudeDeg is 95; expected degrees from -90 to 90/,
    );
    expect(fault('{\r\n"knobs": {\r\n"altitude": {"clockwise": "up"}}}')).toMatch(
      /line 3: knobs\.altitude\.clockwise is "up"; expected "raise" or "lower"/,
    );
    expect(fault('{"camera":\n[1]}')).toMatch(/line 2: camera is a list; expected an object/);
  });
  it('names a field it does not know, and the one that may be meant', () => {
    expect(fault('{"knobs": {\n"azimut": {}}}')).toMatch(/line 2: knobs\.azimut is not a field .*did you mean azimuth\?/);
    expect(fault('{"constructor": 1}')).toMatch(/constructor is not a field/);
  });
  it('names the place where the text stops being JSON', () => {
    expect(fault('{\n"name": "a"\n"site": {}}')).toMatch(/line 3.*expected a comma/);
    expect(fault('{"site": {"latitudeDeg": 1,\n"longitudeDeg": }}')).toMatch(/line 2: site\.longitudeDeg .*expected a value/);
    expect(fault('')).toMatch(/line 1: the file is empty/);
    expect(fault('[]')).toMatch(/the file is a list; expected an object/);
  });
  it('is refused with more than 50 levels of brackets, whatever is in them', () => {
    expect(fault(`{\n"site": ${'['.repeat(100_000)}`)).toMatch(/line 2: the file goes more than 50 levels deep; expected three\.$/);
    expect(fault(`{"site": ${'{"a":'.repeat(30_000)}1${'}'.repeat(30_000)}}`)).toMatch(/levels deep/);
    expect(fault(`{"site": ${'['.repeat(20)}${']'.repeat(20)}}`)).toMatch(/site is a list; expected/);
  });
  it('shows nothing of a damaged file that a terminal would obey', () => {
    expect(fault('{"\\u001b[2J\\u0007": 1}')).toMatch(/line 1: {2}\[2J {2}is not a field/);
  });
  it('asks for what belongs together and refuses two answers to one question', () => {
    expect(fault('{"knobs": {"azimuth": {"thread": "M8"}}}')).toMatch(/leverArmMillimetres is missing, and thread needs it/);
    expect(fault('{"knobs": {"altitude": {"arcminPerTurn": 3, "thread": "M8", "leverArmMillimetres": 9}}}')).toMatch(
      /thread is given together with arcminPerTurn/,
    );
    expect(fault('{"camera": {"widthPixels": 800}}')).toMatch(/heightPixels is missing, and widthPixels needs it/);
    expect(fault('{"knobs": {"azimuth": {"pushPull": true}}}')).toMatch(/screw is missing, and pushPull needs it/);
    expect(fault('{"name": "a", "name": "b"}')).toMatch(/name is given twice/);
    expect(fault('{"knobs": {"azimuth": {"thread": "M8.5", "leverArmMillimetres": 9}}}')).toMatch(/M8\.5.*coarse series/);
  });
  it('is valid exactly where ajv finds it valid by the published schema', () => {
    const ajv = new Ajv2020({ strict: false }).compile(RIG_SCHEMA);
    const value = fc.oneof(fc.constantFrom<unknown>(
      -1, 0, 3, 95, 400, 1e6, 'M8', 'up', 'east', 'raise', 'left', '+02:00', '+25:00', '', true, null, [],
    ));
    const field = fc.constantFrom(
      'name', 'schema', 'latitudeDeg', 'longitudeDeg', 'elevationMetres', 'utcOffset', 'offsetSeconds', 'pixelSizeMicrometres',
      'focalLengthMillimetres',
      'arcminPerTurn', 'screwPitchMillimetres', 'thread', 'leverArmMillimetres', 'clockwise', 'pushPull', 'screw', 'smallestTurn',
      'backlashTurns', 'other',
    );
    const part = fc.dictionary(field, value, { maxKeys: 4 });
    const document = fc.record(
      { site: part, clock: part, camera: part, knobs: fc.record({ azimuth: part, altitude: part }, { requiredKeys: [] }), name: value },
      { requiredKeys: [] },
    );
    // Most invented documents are invalid; the whole one with one leaf changed or taken away is often valid.
    const paths = Object.entries(WHOLE).flatMap(
      ([a, b]) =>
        (typeof b === 'string'
          ? [[a]]
          : Object.entries(b).flatMap(([c, d]) => (typeof d === 'object' ? Object.keys(d).map((e) => [a, c, e]) : [[a, c]]))),
    );
    const changed = fc.tuple(fc.constantFrom(...paths), fc.option(value)).map(([path, v]) => {
      const copy = structuredClone(WHOLE) as unknown as Record<string, unknown>;
      const inner = path.slice(0, -1).reduce((at, key) => at[key] as Record<string, unknown>, copy);
      if (v === null) delete inner[path.at(-1)!];
      else inner[path.at(-1)!] = v;
      return copy;
    });
    let valid = 0;
    fc.assert(fc.property(fc.oneof(document, changed), (rig) => {
      let ours = true;
      try {
        parseRig(JSON.stringify(rig));
      } catch {
        ours = false;
      }
      if (ours) valid++;
      expect(ours).toBe(ajv(rig));
    }), { numRuns: 1500, seed: 4 });
    expect(valid).toBeGreaterThan(100);
  });
});

describe('travel of a turn', () => {
  it('is 43.0 arcminutes for M8 on a 100 mm arm (ISO 261 coarse pitch 1.25 mm)', () => {
    expect(travelPerTurn({ thread: 'M8', leverArmMillimetres: 100 })!.perTurn / ARCMINUTE).toBeCloseTo(43.0, 1);
    expect(travelPerTurn({ screwPitchMillimetres: 1.25, leverArmMillimetres: 100 })!.perTurn).toBe(Math.atan(0.0125));
  });
  it('is what the rig file says where it says it', () => {
    expect(travelPerTurn({ arcminPerTurn: 38 })).toEqual({ perTurn: 38 * ARCMINUTE, from: 'arcminPerTurn' });
    expect(travelPerTurn({ leverArmMillimetres: 100 })).toBeNull();
    expect(travelPerTurn(undefined)).toBeNull();
  });
  it('takes coarse pitches of ISO 261 (from memory) and the written pitch of fine threads', () => {
    expect(['M3', 'M4', 'M5', 'M6', 'M8', 'M10', 'M12', 'M16', 'M20', 'M24'].map(threadPitch)).toEqual([
      0.5, 0.7, 0.8, 1, 1.25, 1.5, 1.75, 2, 2.5, 3,
    ]);
    expect(threadPitch('m8x1')).toBe(1);
    expect(threadPitch('M8×1')).toBe(1);
    expect(['8', 'M8x9', 'M8.5', 'UNC', 'M8x0'].map(threadPitch)).toEqual([null, null, null, null, null]);
  });
  it('grows with the thread', () => {
    const pitches = [...COARSE_PITCH_MILLIMETRES.entries()].sort((a, b) => a[0] - b[0]).map(([, p]) => p);
    expect(pitches).toEqual([...pitches].sort((a, b) => a - b));
  });
  it('has the sign of the error that a clockwise turn makes grow', () => {
    expect([
      clockwiseSign('east'), clockwiseSign('west'), clockwiseSign('raise'), clockwiseSign('lower'), clockwiseSign(undefined),
    ]).toEqual([1, -1, 1, -1, null]);
  });
});
