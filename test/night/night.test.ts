import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { makeSite } from '../../src/sky/site.js';
import { correctionsOf, answerAt, answersNow, emptyNight, nightOf, withLook } from '../../src/night/night.js';
import { doubtsAt } from '../../src/night/doubts.js';
import { happenedBefore } from '../../src/night/happenings.js';
import { SITE } from '../axis/sightings.js';
import { type Done, type InventedLook, SOUTHERN, inventLooks, nightOfInvented } from './inventedLooks.js';

const EMPTY = emptyNight({ site: SITE, hemisphere: 1, anchor: null });
/** The axis found by three turned looks; then what was done before each further look. */
const TURNED: readonly Done[] = [{}, { west: 35 }, { west: 35 }];
const EVENING = inventLooks({ altitude: 14, azimuth: -22 }, [
  ...TURNED, { raise: -11 }, { east: 20 }, { west: -40, east: 1.5 }, {}, { declination: 8 }, { west: 25 }, { raise: -2.5 },
]);

/** How far an answer is from the truth, arcseconds: altitude, azimuth. */
function off(looks: readonly InventedLook[], site = SITE): [number, number] {
  const answer = answerAt(nightOfInvented(looks, site), 'true')!;
  const { altitude, azimuth } = answer.axis.fromTruePole;
  const last = looks.at(-1)!;
  return [(altitude / ARCMINUTE - last.altitude) * 60, (azimuth / ARCMINUTE - last.azimuth) * 60];
}

describe('a night is its looks', () => {
  const whole = nightOf(EMPTY.setting, EVENING.map((l) => l.look));

  test('in whatever order they come in, to the last bit', () => {
    fc.assert(fc.property(fc.shuffledSubarray(EVENING.map((l) => l.look), { minLength: EVENING.length }), (looks) => {
      const night = looks.reduce((n, look) => withLook(n, look).night, EMPTY);
      expect(night.looks).toEqual(whole.looks);
      expect(night.answers).toEqual(whole.answers);
      expect(night.accounts).toEqual(whole.accounts);
    }), { numRuns: 5 });
    expect(answerAt(nightOf(EMPTY.setting, [...EVENING.map((l) => l.look)].reverse()), 'refracted')).toEqual(answerAt(whole, 'refracted'));
  });

  test('a look twice changes nothing, wherever it comes', () => {
    for (const { look } of EVENING) {
      const again = withLook(whole, { ...look, file: 'a copy.fits' });
      expect(again.news).toBe('known');
      expect(again.night).toBe(whole);
    }
  });

  test('a look that is older than the last takes its place in time, and is told to be late', () => {
    const without = nightOf(EMPTY.setting, EVENING.filter((_, i) => i !== 4).map((l) => l.look));
    const late = withLook(without, EVENING[4]!.look);
    expect(late.news).toBe('late');
    for (const part of ['looks', 'answers', 'accounts'] as const) expect(late.night[part]).toEqual(whole[part]);
    expect(answerAt(late.night, 'true')).toEqual(answerAt(whole, 'true'));
    expect(withLook(nightOf(EMPTY.setting, EVENING.slice(0, -1).map((l) => l.look)), EVENING.at(-1)!.look).news).toBe('new');
  });

  test('grown look by look it says at each what it said when that was its last', () => {
    EVENING.forEach((_, i) => {
      expect(nightOf(EMPTY.setting, EVENING.slice(0, i + 1).map((l) => l.look)).answers).toEqual(whole.answers.slice(0, i + 1));
    });
  });

  test('written down and read again it says the same, to the last bit', () => {
    const read = JSON.parse(JSON.stringify(EVENING.map((l) => l.look))) as InventedLook['look'][];
    expect(answersNow(nightOf(EMPTY.setting, read), 'refracted')).toEqual(answersNow(whole, 'refracted'));
  });
});

describe('one frame after a knob was turned', () => {
  test.each([[-11, 0], [0, 25], [-14, 22], [3, -2], [-50, 60]])('shows the axis raised by %d′ and moved east by %d′, in either '
    + 'hemisphere', (raise, east) => {
    for (const site of [SITE, SOUTHERN]) {
      const looks = inventLooks({ altitude: 14, azimuth: -22, site, seed: 7 }, [...TURNED, { raise, east }]);
      for (const part of off(looks, site)) expect(Math.abs(part)).toBeLessThan(1.5);
      const { what, moved } = happenedBefore(nightOfInvented(looks, site), 3, 'true');
      expect(what).toBe('knob');
      expect(moved!.altitude / ARCMINUTE).toBeCloseTo(raise, 1);
      expect(moved!.azimuth / ARCMINUTE).toBeCloseTo(east, 1);
      expect(answerAt(nightOfInvented(looks, site), 'true')!.axis.sigma.separation / ARCSECOND).toBeLessThan(1.5);
    }
  });

  test.each([0, 2.5, 5.01, -60, 3, -3, 90])('does so whatever the mount was turned meanwhile: %d° to the west in 20 minutes', (west) => {
    const looks = inventLooks({ altitude: 14, azimuth: -22, seed: 3 }, [...TURNED, { raise: -11, east: 0, west, minutes: 20 }]);
    for (const part of off(looks)) expect(Math.abs(part)).toBeLessThan(2);
    const { turn } = happenedBefore(nightOfInvented(looks), 3, 'true');
    expect(turn! / DEGREE).toBeCloseTo(west, 0);
  });

  test('of the unchanged mount says that nothing moved, and its sigma is true: neither too small nor too large', () => {
    const z: number[] = [];
    for (let seed = 1; seed <= 30; seed++) {
      const looks = inventLooks({ altitude: 9, azimuth: 4, sigmaPixels: 0.1, seed, stars: 120 }, [...TURNED, { minutes: 1 }]);
      const night = nightOfInvented(looks);
      expect(happenedBefore(night, 3, 'refracted').what).toBe('unchanged');
      expect(night.answers[3]!.doubt).toBeNull();
      const answer = answerAt(night, 'true')!;
      z.push((answer.axis.fromTruePole.azimuth / ARCMINUTE - 4) / (answer.axis.sigma.azimuth / ARCMINUTE));
    }
    const rms = Math.sqrt(z.reduce((sum, v) => sum + v * v, 0) / z.length);
    // Of thirty draws of a normal the root mean square is outside these once in a thousand times.
    expect(rms).toBeGreaterThan(0.5);
    expect(rms).toBeLessThan(1.4);
  });

  test('near the zenith, where azimuth and the turn about the axis are one, is answered only by turned looks', () => {
    const site = makeSite({ latitudeDeg: 83, longitudeDeg: 10 });
    const looks = inventLooks({ altitude: 5, azimuth: 5, site }, TURNED);
    for (const part of off(looks, site)) expect(Math.abs(part)).toBeLessThan(15);
  });
});

describe('the declination', () => {
  test('that moved looks like a knob at first; the next turned look takes that back', () => {
    const looks = inventLooks({ altitude: 14, azimuth: -22 }, [...TURNED, { declination: 6 }, { west: 30 }]);
    expect(happenedBefore(nightOfInvented(looks.slice(0, 4)), 3, 'true').what).toBe('knob');
    const night = nightOfInvented(looks);
    expect(correctionsOf(night).map(({ look, thought, happened }) => [look, thought, happened])).toEqual([[3, 'knob', 'declination']]);
    for (const part of off(looks)) expect(Math.abs(part)).toBeLessThan(1.5);
    expect(doubtsAt(night, 'true')).toEqual([]);
    // What was said of look 3 stays what it was: the record of what the person was told.
    expect(night.answers[3]!.happened).toBe('knob');
    expect(answersNow(night, 'true')[3]!.axis.fromTruePole.altitude / ARCMINUTE).toBeCloseTo(14, 1);
  });

  test.each([[{ camera: 6 }], [{ declination: 6, west: 30 }], [{ camera: -4, west: -20 }]])('that may have moved is a doubt, with what the '
    + 'answer is then: %o', (deed) => {
    const looks = inventLooks({ altitude: 14, azimuth: -22 }, [...TURNED, deed]);
    const [doubt, ...more] = doubtsAt(nightOfInvented(looks), 'true');
    expect(more).toEqual([]);
    expect(doubt).toMatchObject({
      code: 'knob-or-declination', settle: expect.stringMatching(/^Turn the mount 20° or more in right ascension/) as string,
    });
    expect(doubt!.message).toMatch(/before frame-4\.fits.*(14\.0|13\.9)\d′ too high, (22\.0|21\.9)\d′ too far west\.$/);
  });
});

describe('a night that can\'t answer says nothing', () => {
  test.each([
    ['no look', 0, []],
    ['one look', 1, [{}]],
    ['looks that were not turned', 3, [{}, {}, {}]],
    ['a look after each of which a knob was turned', 3, [{}, { east: 20 }, { raise: 10 }]],
  ] as const)('%s', (_, count, deeds) => {
    const looks = inventLooks({ altitude: 14, azimuth: -22 }, deeds);
    expect(looks.length).toBe(count);
    const night = nightOfInvented(looks);
    expect(answerAt(night, 'refracted')).toBeNull();
    expect(doubtsAt(night, 'refracted')).toEqual([]);
    expect(answersNow(night, 'refracted')).toEqual(looks.map(() => null));
  });

  test('two turned looks answer, and carry the caveat that a third would show a slip', () => {
    const looks = inventLooks({ altitude: 14, azimuth: -22 }, TURNED);
    expect(nightOfInvented(looks.slice(0, 2)).answers.at(-1)!.unconfirmed).toBe(true);
    expect(nightOfInvented(looks).answers.at(-1)!.unconfirmed).toBe(false);
  });
});
