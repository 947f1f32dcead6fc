import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import type { SessionEntry } from '../../../src/night/record/entry.js';
import { tellStory } from '../../../src/night/record/story.js';
import { note, recheck, rotation, start, turn } from './entries.js';

const story = (...entries: SessionEntry[]) => tellStory([start(), ...entries].map((entry, i) => ({ line: i + 1, entry })));

describe('the story', () => {
  test('puts each turn before the look that shows what it did', () => {
    const { steps, turnsSince, notesSince } = story(
      rotation(0, 7, -26), turn('azimuth', 0.4, 2, 20), turn('azimuth', 0.1, 3, 5), recheck(2, 5, 7, -1),
      turn('altitude', -0.2, 7, -7), note('wind'), recheck(2, 9, 0.5, -1), turn('azimuth', 0.01, 11, null), note('cloud'));
    expect(steps.map((s) => [s.line, s.how, s.framesUsed, s.turns.length, s.notes.length])).toEqual([[2, 'rotation', 3, 0, 0], [5, 'recheck', 1, 2, 0], [8, 'recheck', 1, 1, 1]]);
    expect(steps[0]!.moved).toBeNull();
    expect(steps[1]!.effects).toEqual([{
      knob: 'azimuth', turns: 0.5, followed: false, expectedArcmin: 25, movedArcmin: expect.closeTo(25, 6) as number, sigmaArcmin: Math.hypot(0.01, 0.02),
    }]);
    expect(steps[2]!.effects).toMatchObject([{ knob: 'altitude', expectedArcmin: -7, movedArcmin: expect.closeTo(-6.5, 6) as number }]);
    expect([turnsSince.length, notesSince.length]).toEqual([1, 1]);
  });

  test('tells the axis\' movement through north as the short way, east positive', () => {
    fc.assert(fc.property(fc.double({ min: -120, max: 120, noNaN: true }), fc.double({ min: -120, max: 120, noNaN: true }), (before, after) => {
      const moved = story(rotation(0, 0, before), recheck(2, 5, 0, after)).steps[1]!.moved!;
      expect(moved.azimuthArcmin).toBeCloseTo(after - before, 6);
    }));
  });

  test('has no movement without a site', () => {
    const looks = [rotation(0, 7, -26), recheck(2, 5, 7, -1)].map((e) => ({
      ...e, measurement: { ...e.measurement, axis: { ...e.measurement.axis, altitudeDeg: null, azimuthDeg: null } },
    }));
    expect(story(...looks).steps.map((s) => s.moved)).toEqual([null, null]);
  });
});

describe('a rotated measurement contradicts the recheck before it', () => {
  const last = (...entries: SessionEntry[]): boolean => story(...entries).steps.at(-1)!.contradictsRecheck;

  test('if it differs by more than the errors of both', () => {
    expect(last(rotation(0, 7, -26), recheck(2, 5, 1, 0), rotation(9, 1.8, 0))).toBe(true);
    expect(last(rotation(0, 7, -26), recheck(2, 5, 1, 0), rotation(9, 1, 0.5))).toBe(true);
  });

  test('but not within them, nor if a knob was turned in between, nor if the look before was rotated too', () => {
    expect(last(rotation(0, 7, -26), recheck(2, 5, 1, 0), rotation(9, 1.04, -0.04))).toBe(false);
    expect(last(rotation(0, 7, -26), recheck(2, 5, 1, 0), turn('altitude', 0.1, 7, 1), rotation(9, 1.8, 0))).toBe(false);
    expect(last(rotation(0, 7, -26), rotation(9, 1.8, 0))).toBe(false);
    expect(last(rotation(0, 7, -26), recheck(2, 5, 1, 0))).toBe(false);
  });
});
