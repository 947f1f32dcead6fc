import { describe, expect, test } from 'vitest';
import { ARCSECOND } from '../../../src/geometry/angle.js';
import { checkEntry } from '../../../src/night/record/checkEntry.js';
import { nightAsRecorded } from '../../../src/night/record/nightOfSession.js';
import { parseSessionLines } from '../../../src/night/record/sessionLines.js';
import { answersNow } from '../../../src/night/night.js';
import { inventLooks } from '../inventedLooks.js';
import { LOOKS_SITE, lookEntry, looksStart, oldStart, rotation, sessionOf } from './entries.js';

const look = lookEntry(inventLooks({ altitude: 7, azimuth: -26, stars: 200 }, [{}])[0]!);
const ENTRIES = { look, measurement: rotation(0, 7, -26), start: looksStart(), oldStart: oldStart() };

/** An entry with one value replaced, by its path: "look.pose.0". */
function edited(entry: object, path: string, value: unknown): unknown {
  const copy = JSON.parse(JSON.stringify(entry)) as Record<string, unknown>;
  const keys = path.split('.');
  const parent = keys.slice(0, -1).reduce<Record<string, unknown>>((at, key) => at[key] as Record<string, unknown>, copy);
  expect(parent).toHaveProperty(keys.at(-1)!);
  parent[keys.at(-1)!] = value;
  return copy;
}
const ZEROS = (count: number): number[] => Array.from({ length: count }, () => 0);

describe('a session edited by hand', () => {
  test('as it was written is taken', () => {
    for (const entry of Object.values(ENTRIES)) expect(checkEntry(JSON.parse(JSON.stringify(entry)))).toEqual(entry);
  });

  test.each([
    ['look', 'look.pose', ZEROS(9)], ['look', 'look.pose', [2, 0, 0, 0, 2, 0, 0, 0, 2]],
    ['look', 'look.pose', [1, 0, 0, 0, 1, 0, 0, 0, -1]],
    ['look', 'look.pose', [1, 0, 0, 0, 1, 0, 0, 0]], ['look', 'look.pose.4', 1e300], ['look', 'look.pose.4', null],
    ['look', 'look.pose.4', '0.5'],
    ['look', 'look.utc', 'tonight'], ['look', 'look.utc', 5], ['look', 'look.width', 0], ['look', 'look.height', 1.5],
    ['look', 'look.lens.focalPixels', 0], ['look', 'look.lens.focalPixels', -4e4], ['look', 'look.lens.focalPixels', 1e300],
    ['look', 'look.lens.centreX', 1e300], ['look', 'look.lens.radial', 'none'], ['look', 'look.lens.mirrored', 1],
    ['look', 'look.stars.x', [1]], ['look', 'look.stars.x.3', 1e300], ['look', 'look.stars.sigma.3', 0], ['look', 'look.stars.sigma.3', -1],
    ['look', 'look.stars.decDeg.3', 91], ['look', 'look.stars.raDeg.3', -1], ['look', 'look.stars.catalogueArcsec.3', 0],
    ['look', 'look.stars.number.3', look.look.stars.number[4]], ['look', 'look.stars.blended.3', 2],
    ['measurement', 'state.axis', ZEROS(3)], ['measurement', 'state.axis', [1e300, 0, 0]], ['measurement', 'state.axis', [0, 0.6]],
    ['measurement', 'state.pose', ZEROS(9)], ['measurement', 'state.covariance', [-1e-12, 0, 0, 1e-12]],
    ['measurement', 'state.covariance', ZEROS(4)],
    ['measurement', 'state.covariance', [1e-12, 2e-12, 2e-12, 1e-12]], ['measurement', 'state.covariance', [1e-12, 1e-13, -1e-13, 1e-12]],
    ['measurement', 'state.covariance', [1e300, 0, 0, 1e300]], ['measurement', 'state.hemisphere', 0], ['measurement', 'state.utc', ''],
    ['measurement', 'measurement.axis.sigma', null], ['measurement', 'measurement.axis.fromTruePole.separationArcmin', null],
    ['measurement', 'how', 'guess'],
    ['start', 'site.latitudeDeg', 95], ['start', 'site.longitudeDeg', 1e300], ['start', 'hemisphere', 2],
    ['start', 'schema', 'poleward/session-3'],
  ] as const)('is refused: %s with %s', (kind, path, value) => {
    expect(checkEntry(edited(ENTRIES[kind], path, value))).toBe(`is not a complete ${kind}`);
  });

  test('without a time is refused as that', () => {
    expect(checkEntry(edited(look, 'at', 'never'))).toBe('has no time');
    expect(checkEntry(edited(look, 'at', 1e300))).toBe('has no time');
  });

  test('loses the line that was edited, told by its number, and keeps the others', () => {
    const looks = inventLooks({ altitude: 7, azimuth: -26 }, [{}, { west: 35 }, { west: 35 }, { east: 20 }, { east: 20 }]).map(lookEntry);
    const lines = [looksStart(), ...looks].map((entry) => JSON.stringify(entry));
    const session = (...text: string[]) => {
      const read = parseSessionLines(`${text.join('\n')}\n`);
      const answers = answersNow(nightAsRecorded({ path: 's', start: looksStart(), ...read }), 'refracted');
      return { ...read, answers };
    };
    const whole = session(...lines);
    expect(whole.answers.map((a) => a !== null)).toEqual([true, true, true, true, true]);
    const cut = lines[2]!.replace(/"pose":\[[^,]*/, '"pose":[1e300'), torn = lines[5]!.replace('"kind":"look"', '"kind":"look\0"');
    // Nothing is built on a gap: what was turned between the looks beside it is unknown, until the next turn shows the axis.
    const two = session(lines[0]!, lines[1]!, cut, lines[3]!, torn);
    expect(two.warnings.map(({ code, line }) => [code, line])).toEqual([['line-unreadable', 3], ['line-unreadable', 5]]);
    expect(two.recorded.map(({ line }) => line)).toEqual([1, 2, 4]);
    expect(two.answers).toEqual([null, null]);
    const three = session(lines[0]!, lines[1]!, cut, lines[3]!, lines[4]!, torn);
    expect(three.recorded.map(({ line }) => line)).toEqual([1, 2, 4, 5]);
    const off = (a: (typeof whole.answers)[number]): number => a!.axis.fromTruePole.separation / ARCSECOND;
    expect(Math.abs(off(three.answers[2]!) - off(whole.answers[3]!))).toBeLessThan(0.5);
    // Lines out of order are the same night.
    expect(session(lines[0]!, lines[4]!, lines[2]!, lines[1]!, lines[5]!, lines[3]!).answers).toEqual(whole.answers);
  });

  test('whose looks are of other days is no crash', () => {
    const looks = inventLooks({ altitude: 7, azimuth: -26 }, [{}, { west: 35 }]).map(lookEntry);
    const far = ['1900-01-01T00:00:00.000Z', '2199-12-31T00:00:00.000Z']
      .map((utc, i) => ({ ...looks[i]!, look: { ...looks[i]!.look, utc } }));
    expect(() => answersNow(nightAsRecorded(sessionOf(looksStart(LOOKS_SITE), ...far)), 'refracted')).not.toThrow();
  });
});
