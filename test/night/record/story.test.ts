import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { ARCMINUTE, DEGREE } from '../../../src/geometry/angle.js';
import type { LaterEntry, StartEntry } from '../../../src/night/record/entry.js';
import { nightAsRecorded } from '../../../src/night/record/nightOfSession.js';
import { type Story, isBeyondChance, lastKnown, tellStory } from '../../../src/night/record/story.js';
import { type Done, type InventedLook, SOUTHERN, inventLooks } from '../inventedLooks.js';
import { LOOKS_SITE_SOUTH, lookEntry, looksStart, note, oldStart, recheck, rotation, sessionOf, turn } from './entries.js';

function story(start: StartEntry, ...entries: readonly LaterEntry[]): Story {
  const session = sessionOf(start, ...entries);
  return tellStory(session.recorded, nightAsRecorded(session), 'true');
}
const oldStory = (...entries: readonly LaterEntry[]): Story => story(oldStart(), ...entries);

/** The axis found, and turned by 35° each time; then what was done before each further look. */
const night = (...deeds: readonly Done[]): InventedLook[] =>
  inventLooks({ altitude: 7, azimuth: -26 }, [{}, { west: 35 }, { west: 35 }, ...deeds]);

describe('the story of a night of looks', () => {
  const looks = night({ east: 25 }, { raise: -6.5 }).map(lookEntry);
  const told = story(looksStart(),
    ...looks.slice(0, 3), turn('azimuth', 0.4, 2, 20), turn('azimuth', 0.1, 3, 5), looks[3]!,
    turn('altitude', -0.2, 7, -7), note('wind'), looks[4]!, turn('azimuth', 0.01, 11, null), note('cloud'));

  test('puts each turn before the look that shows what it did', () => {
    expect(told.looks.map((l) => [l.file, l.happened!.what, l.turns.length, l.notes.length])).toEqual([
      ['frame-1.fits', 'first', 0, 0], ['frame-2.fits', 'turned', 0, 0], ['frame-3.fits', 'turned', 0, 0], ['frame-4.fits', 'knob', 2, 0],
      ['frame-5.fits', 'knob', 1, 1],
    ]);
    expect(told.looks[3]!.effects).toMatchObject([{ knob: 'azimuth', turns: 0.5, followed: false, expectedArcmin: 25 }]);
    expect(told.looks[3]!.effects[0]!.movedArcmin).toBeCloseTo(25, 1);
    expect(told.looks[4]!.effects).toMatchObject([{ knob: 'altitude', turns: -0.2, expectedArcmin: -7 }]);
    expect(told.looks[4]!.effects[0]!.movedArcmin).toBeCloseTo(-6.5, 1);
    expect([told.turnsSince.length, told.notesSince.length]).toEqual([1, 1]);
  });

  test('has each look\'s axis as the night knows it now: the first too, though it had no answer then', () => {
    const truth = [[7, -26], [7, -26], [7, -26], [7, -1], [0.5, -1]];
    told.looks.forEach((look, i) => {
      expect(look.error!.altitudeArcmin!).toBeCloseTo(truth[i]![0]!, 1);
      expect(look.error!.azimuthArcmin!).toBeCloseTo(truth[i]![1]!, 1);
    });
    expect(lastKnown(told)!.utc).toBe(looks[4]!.look.utc);
    expect(told.looks.slice(0, 3).map((l) => l.moved && isBeyondChance(l.moved))).toEqual([null, false, false]);
    expect(told.looks.slice(3).map((l) => isBeyondChance(l.moved!))).toEqual([true, true]);
  });

  test('has no answer where the looks give none', () => {
    const one = story(looksStart(), looks[0]!);
    expect(one.looks.map((l) => [l.error, l.sigma, l.moved])).toEqual([[null, null, null]]);
    expect(lastKnown(one)).toBeNull();
    expect(story(looksStart(), turn('azimuth', 1, 0, null))).toMatchObject({ looks: [], turnsSince: [{ turns: 1 }] });
  });

  test('has no altitude, azimuth or movement without a site', () => {
    const placeless = story(looksStart(null), ...looks);
    expect(placeless.looks.map((l) => [l.error!.altitudeArcmin, l.sigma!.azimuthArcmin, l.moved])).toEqual(looks.map(
      () => [null, null, null],
    ));
    expect(placeless.looks[0]!.error!.separationArcmin).toBeCloseTo(Math.hypot(7, 26 * Math.cos(47.3 * DEGREE)), 0);
  });

  test('tells a look that was answered wrongly, and that what follows it is the truth', () => {
    // A bump in declination looks like the altitude knob until the next turned look.
    const bumped = night({ declination: 6 }, { west: 30 }).map(lookEntry);
    const before = story(looksStart(), ...bumped.slice(0, 4)).looks;
    expect([before[3]!.happened!.what, before[3]!.correction]).toEqual(['knob', null]);
    expect(before[3]!.error!.altitudeArcmin!).toBeCloseTo(13, 1);
    const after = story(looksStart(), ...bumped).looks;
    expect(after.map((l) => l.happened!.what)).toEqual(['first', 'turned', 'turned', 'declination', 'turned']);
    expect(after.map((l) => l.correction)).toEqual([null, null, null, expect.stringMatching(
      /^frame-4\.fits was answered wrongly: the declination or the camera had moved, not a knob\. The axis was 7\.0\d′ too high, (26\.0|25\.9)\d′ too far west\.$/,
    ), null]);
    expect(after[3]!.error!.altitudeArcmin!).toBeCloseTo(7, 1);
    expect(after.at(-1)!.error!.azimuthArcmin!).toBeCloseTo(-26, 1);
    expect(after.at(-1)!.error!.altitudeArcmin!).toBeCloseTo(7, 1);
  });

  test('counts east as the knob\'s angle, in either hemisphere', () => {
    for (const site of [undefined, SOUTHERN]) {
      for (const east of [-27, 27]) {
        const moved = inventLooks({ altitude: -4, azimuth: 12, ...(site ? { site } : {}) }, [{}, { west: 35 }, { west: 35 }, { east }]);
        const [last] = story(looksStart(site && LOOKS_SITE_SOUTH), ...moved.map(lookEntry)).looks.slice(-1);
        expect(last!.moved!.azimuthArcmin).toBeCloseTo(east, 1);
        expect(last!.happened!.moved!.azimuth / ARCMINUTE).toBeCloseTo(east, 1);
      }
    }
  });
});

describe('the story of a session of version 1', () => {
  test('puts each turn before the look that shows what it did', () => {
    const { looks, turnsSince, notesSince } = oldStory(
      rotation(0, 7, -26), turn('azimuth', 0.4, 2, 20), turn('azimuth', 0.1, 3, 5), recheck(5, 7, -1),
      turn('altitude', -0.2, 7, -7), note('wind'), recheck(9, 0.5, -1), turn('azimuth', 0.01, 11, null), note('cloud'));
    expect(looks.map((l) => [l.happened, l.turns.length, l.notes.length])).toEqual([[null, 0, 0], [null, 2, 0], [null, 1, 1]]);
    expect(looks[0]!.moved).toBeNull();
    expect(looks[1]!.effects).toEqual([{
      knob: 'azimuth', turns: 0.5, followed: false, expectedArcmin: 25, movedArcmin: expect.closeTo(25, 6) as number,
      sigmaArcmin: Math.hypot(0.01, 0.02),
    }]);
    expect(looks[2]!.effects).toMatchObject([{ knob: 'altitude', expectedArcmin: -7, movedArcmin: expect.closeTo(-6.5, 6) as number }]);
    expect([turnsSince.length, notesSince.length]).toEqual([1, 1]);
  });

  test('tells the axis\' movement through north as the short way, east positive', () => {
    fc.assert(fc.property(fc.double({ min: -120, max: 120, noNaN: true }), fc.double({ min: -120, max: 120, noNaN: true }), (
      before, after,
    ) => {
      const moved = oldStory(rotation(0, 0, before), recheck(5, 0, after)).looks[1]!.moved!;
      expect(moved.azimuthArcmin).toBeCloseTo(after - before, 6);
    }));
  });

  test('has no movement where no altitude and azimuth were known', () => {
    const entries = [rotation(0, 7, -26), recheck(5, 7, -1)].map((e) => {
      const { axis } = e.measurement;
      const unknown = { altitudeArcmin: null, azimuthArcmin: null, separationArcmin: 20 };
      return {
        ...e, measurement: { ...e.measurement, axis: { ...axis, fromTruePole: unknown, fromRefractedPole: unknown, sigma: unknown } },
      };
    });
    expect(oldStory(...entries).looks.map((s) => s.moved)).toEqual([null, null]);
  });

  test('goes on with looks: what they show stands beside what was measured', () => {
    const looks = night().map(lookEntry);
    const { looks: both } = oldStory(rotation(-60, 7, -26), ...looks);
    expect(both.map((l) => l.happened?.what ?? null)).toEqual([null, 'first', expect.any(String), expect.any(String)]);
  });
});
